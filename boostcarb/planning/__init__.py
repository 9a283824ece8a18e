"""The cheapest set of changes that an oracle accepts, proved; and why each change is needed.

Start with :mod:`~boostcarb.planning.problem` (what may be chosen, and at what cost), then
:func:`~boostcarb.planning.search.cheapest`. Nothing here knows what an item stands for.
"""

"""Tests on the bench that prove the work: the cheapest set that shows every mistake any test can show.

Start with :mod:`~boostcarb.checks.model`, then :func:`~boostcarb.checks.answer.bench_answer`. On the bench all is at
the pressure of the atmosphere; what tells is where something comes out, what holds and what moves.
"""

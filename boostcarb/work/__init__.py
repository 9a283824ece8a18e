"""The work itself: in which order, by which method, with what in hand, and how the result is proved."""

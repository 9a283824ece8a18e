"""The signal board: the drawing of the passages, colored by pressure, with any change tried by a click."""

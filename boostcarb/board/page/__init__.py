"""The page of the board, and how its files become one."""

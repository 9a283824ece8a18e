"""The manual that travels with the package: its pages, and what makes those of them that follow from the data."""

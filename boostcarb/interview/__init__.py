"""An interview in the order of the strip-down that ends in a job file."""

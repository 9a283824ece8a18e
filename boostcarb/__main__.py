"""`python -m boostcarb`."""

from boostcarb.cli import main

main()

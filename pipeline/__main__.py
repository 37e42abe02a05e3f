"""`python -m pipeline`: the same as the command `fitback`."""

from pipeline.cli import main

main()

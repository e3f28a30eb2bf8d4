"""`python -m neutralpoint` is the command line; the workbench starts its jobs with it."""

from neutralpoint.cli import main

if __name__ == "__main__":
    main()

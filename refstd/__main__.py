"""`python -m refstd` is the same as `refstd`."""

from refstd.cli import main

if __name__ == "__main__":
    main()

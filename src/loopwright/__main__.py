"""python -m loopwright."""

from loopwright.cli import main

if __name__ == "__main__":
    main()

"""`python -m generator` is the command."""

import sys

if __name__ == "__main__":
    from generator.cli import main

    sys.exit(main())

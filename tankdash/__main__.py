"""`python -m tankdash` is the same as the `tankdash` command."""

import sys

from tankdash.cli.main import main

if __name__ == "__main__":
    sys.exit(main())

"""Run the command: ``python -m gearwork``."""

import sys

from gearwork.cli import main

if __name__ == "__main__":
    sys.exit(main())

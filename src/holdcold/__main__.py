"""``python -m holdcold`` is the same as ``holdcold``."""

import sys

from holdcold.cli.main import main

if __name__ == "__main__":
    sys.exit(main())

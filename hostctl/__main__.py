"""`python -m hostctl` is `hostctl`."""

import sys

from hostctl.cli.main import main

sys.exit(main())

"""`python -m config <command>`, the same as `setwright <command>`."""

import sys

from config.command import main

sys.exit(main())

"""Where the bundle begins."""

import sys

from trainer.cli.main import main

sys.exit(main())

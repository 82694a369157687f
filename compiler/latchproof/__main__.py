"""`python -m latchproof` is the command `latchproof`."""

from latchproof.cli.main import main

raise SystemExit(main())

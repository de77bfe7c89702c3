"""``python -m fesoil`` is the command ``fesoil``."""

from fesoil.cli import main

raise SystemExit(main())

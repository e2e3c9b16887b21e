#!/usr/bin/env python
"""Run Plumbline's commands."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shared.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError as missing:
        raise SystemExit(
            "Django is not installed in this Python. Follow the first command of README.md, then run "
            ".venv/bin/python manage.py ..."
        ) from missing
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()

"""`manage.py serve`: the site and its background jobs in one process tree."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connection, connections
from django.db.migrations.executor import MigrationExecutor

from shared.serving import PortTaken, serve


class Command(BaseCommand):
    help = "Serve the site and run its jobs until Ctrl-C. With REDIS_URL, start workers with: celery -A shared worker"

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on (default: this machine only)")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--threads", type=int, default=4, help="pages answered at the same time")

    def handle(self, *, host: str, port: int, threads: int, **options: Any) -> None:
        refuse_an_old_database()
        try:
            serve(host=host, port=port, threads=threads, say=self.say)
        except PortTaken as problem:
            raise CommandError(
                f"Cannot listen on {host}:{port}: {problem}. Is Plumbline running there already? "
                f"Stop it, or choose another port: --port {port + 1}"
            ) from problem

    def say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def refuse_an_old_database() -> None:
    executor = MigrationExecutor(connection)
    missing = executor.migration_plan(executor.loader.graph.leaf_nodes())
    connections.close_all()
    if missing:
        raise CommandError(f"The database lacks {len(missing)} of its changes. Run: python manage.py migrate")

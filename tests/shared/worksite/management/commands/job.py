"""`job new DIARY STEPS PAUSE` asks for a slow job; `job wait ID STATE SECONDS` prints it as JSON when it is so far."""

from __future__ import annotations

import json
import time

from django.core.management.base import BaseCommand, CommandError

from shared import jobs
from shared.models import Club, Job, User


class Command(BaseCommand):
    def add_arguments(self, parser):
        parser.add_argument("what", choices=["new", "wait"])
        parser.add_argument("words", nargs="+")

    def handle(self, *, what, words, **options):
        self.stdout.write(getattr(self, what)(*words))

    def new(self, diary, steps, pause):
        club, _ = Club.objects.get_or_create(slug="brackenford", name="Brackenford RFC")
        user, _ = User.objects.get_or_create(username="head")
        task = "tests.shared.worksite.tasks.dig"
        return str(jobs.ask(task, club=club, by=user, diary=diary, steps=int(steps), pause=float(pause)).pk)

    def wait(self, job_id, state, seconds):
        end = time.monotonic() + float(seconds)
        while time.monotonic() < end:
            job = Job.objects.get(pk=job_id)
            if job.state == state:
                return json.dumps({"progress": job.progress, "attempts": job.attempts, "error": job.error})
            time.sleep(0.05)
        raise CommandError(f"still {job.state} after {seconds} s, attempts {job.attempts}, error: {job.error}")

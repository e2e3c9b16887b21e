"""A file between its preview and its confirmation."""

import datetime as dt
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from shared import uploads
from shared.cells import MOST_BYTES, Unreadable
from shared.models import Upload
from tests import factories as f


def kept(club, by, content=b"Name\nAnn\n"):
    return uploads.keep(club, SimpleUploadedFile("squad.csv", content), by)


def test_a_kept_file_comes_back_as_it_was(club, head):
    upload = kept(club, head)
    taken = uploads.take(club, upload.pk, head)
    assert (taken.name, bytes(taken.content)) == ("squad.csv", b"Name\nAnn\n")


@pytest.mark.django_db
@pytest.mark.parametrize("whose", ["another person", "another club", "an unknown file", "a file over a day old"])
def test_nothing_else_comes_back(club, head, assistant, whose):
    upload = kept(club, head)
    where, key, who = club, upload.pk, head
    if whose == "another person":
        who = assistant
    elif whose == "another club":
        where = f.ClubFactory()
    elif whose == "an unknown file":
        key = uuid.uuid4()
    else:
        Upload.objects.update(made_at=timezone.now() - dt.timedelta(days=1, seconds=1))
    with pytest.raises(Unreadable, match="This file is no longer here"):
        uploads.take(where, key, who)


def test_files_over_a_day_old_go_when_a_new_one_is_kept(club, head):
    kept(club, head)
    Upload.objects.update(made_at=timezone.now() - dt.timedelta(days=1, seconds=1))
    new = kept(club, head)
    assert list(Upload.objects.all()) == [new]


def test_a_file_over_the_limit_is_not_kept(club, head):
    with pytest.raises(Unreadable, match=r"“squad\.csv” is larger than 2\.0 MB"):
        kept(club, head, b"x" * (MOST_BYTES + 1))
    assert not Upload.objects.exists()

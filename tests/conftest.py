"""What every test may ask for."""

from __future__ import annotations

import os

import pytest

from tests import factories as f

# Playwright's loop runs in the thread of the test, which Django would otherwise take for an async context.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")


@pytest.fixture(autouse=True)
def quick_passwords(settings):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.PBKDF2PasswordHasher"]


@pytest.fixture
def club(db):
    return f.ClubFactory(name="Brackenford RFC", slug="brackenford")


@pytest.fixture
def squad(club):
    return f.SquadFactory(club=club, slug="firsts")


@pytest.fixture
def head(club):
    return f.MembershipFactory(club=club, user__username="head", role="head_coach").user


@pytest.fixture
def assistant(club):
    return f.MembershipFactory(club=club, user__username="assistant", role="assistant").user


@pytest.fixture
def welfare(club):
    return f.MembershipFactory(club=club, user__username="welfare", role="welfare_officer").user


@pytest.fixture
def stranger(db):
    """A head coach of another club."""
    return f.MembershipFactory(user__username="stranger", role="head_coach").user


@pytest.fixture
def log_in(client):
    """`log_in(head)` gives a client that is that person."""

    def as_user(user):
        client.force_login(user)
        return client

    return as_user

"""Tokens in addresses: made at random, kept as a hash, kept out of logs."""

from __future__ import annotations

import hashlib
import logging

from shared import tokens
from shared.models import AuditEvent
from shared.settings import LOGGING
from shared.tokens import BYTES, DIGEST_LENGTH, Masked, digest_of, new_token


def test_a_token_holds_256_bits_in_letters_that_an_address_may_hold():
    assert BYTES * 8 == 256
    made = {new_token() for _ in range(200)}
    assert len(made) == 200
    assert all(len(token) == 43 and token.isascii() and "/" not in token for token in made)


def test_what_is_stored_is_plain_sha256():
    """FIPS 180-2, appendix B.1: the digest of "abc"."""
    assert digest_of("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert len(digest_of(new_token())) == DIGEST_LENGTH == hashlib.sha256().digest_size * 2


def test_a_token_that_is_no_text_at_all_has_a_digest_too():
    assert len(digest_of("\udcff")) == len(digest_of("")) == DIGEST_LENGTH


def test_a_row_is_found_by_its_token_with_one_look_up(db, django_assert_num_queries):
    token = new_token()
    row = AuditEvent.objects.create(
        club="x", number=1, at="2026-10-06T12:00Z", actor="a", did="b", subject="c", digest=digest_of(token)
    )
    for asked, found in ((token, row), (new_token(), None), ("", None), (digest_of(token), None)):
        with django_assert_num_queries(1):
            assert tokens.find(AuditEvent.objects.order_by("pk"), asked) == found


def said(path: str) -> str:
    record = logging.LogRecord("django.request", logging.WARNING, "", 0, "%s: %s", ("Not Found", path), None)
    assert Masked().filter(record)
    return record.getMessage()


def test_a_log_line_holds_no_token_and_not_most_of_one():
    token = new_token()
    for kept in (token, token[:-2], token + "x"):
        assert said(f"/feeds/{kept}.ics") == "Not Found: /feeds/….ics"


def test_other_log_lines_stay_as_they_are():
    assert said("/c/brackenford/calendar/") == "Not Found: /c/brackenford/calendar/"


def test_every_handler_of_the_site_masks_tokens():
    assert LOGGING["filters"]["masked"]["()"] == "shared.tokens.Masked"
    assert all("masked" in handler["filters"] for handler in LOGGING["handlers"].values())
    assert LOGGING["loggers"]["django.server"] == {"handlers": ["console"], "level": "INFO", "propagate": False}


def test_a_page_that_is_not_found_is_told_without_its_token(client, db, capfd):
    handler = logging.StreamHandler()
    handler.addFilter(Masked())
    logger = logging.getLogger("django.request")
    logger.addHandler(handler)
    token = new_token()
    try:
        assert client.get(f"/nothing/{token}").status_code == 404
    finally:
        logger.removeHandler(handler)
    told = capfd.readouterr().err
    assert "Not Found: /nothing/…" in told
    assert token not in told.split("\n")[0]

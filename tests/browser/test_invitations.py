"""An invitation from the page of members to the first page of whoever took it up."""

from __future__ import annotations

from playwright.sync_api import expect


def test_a_head_coach_invites_an_assistant_who_makes_an_account_and_is_in(open_page, head, sign_in, usable, club):
    page = sign_in(open_page("desktop"), head)
    page.goto("/c/brackenford/members/")
    page.get_by_role("link", name="Invite somebody").click()
    usable(page)
    page.get_by_label("For whom").fill("Wenna Tarrow")
    page.get_by_label("Role").select_option("assistant")
    page.get_by_label("As what, or who asked for it").fill("coaches the backs")
    page.get_by_role("button", name="Make the address").click()
    usable(page)
    address = page.locator("code").inner_text()

    guest = open_page("phone", color_scheme="dark")
    guest.goto(address)
    usable(guest)
    expect(guest.get_by_label("First name")).to_have_value("Wenna")
    guest.get_by_label("Username").fill("wenna")
    guest.get_by_label("Password:", exact=True).fill("a-long-straight-line")
    guest.get_by_label("Password confirmation").fill("a-long-straight-line")
    guest.get_by_role("button", name="Make my account and join").click()
    expect(guest.get_by_text("Wenna Tarrow, Assistant coach")).to_be_visible()
    guest.goto("/password/")
    usable(guest)
    guest.goto(address)
    expect(guest.get_by_role("heading", name="This address opens nothing")).to_be_visible()
    usable(guest)

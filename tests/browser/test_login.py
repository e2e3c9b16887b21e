"""The way in, as a person meets it."""

from __future__ import annotations

from playwright.sync_api import expect


def test_the_login_page_is_usable_by_everyone(page, axe):
    page.goto("/login/")
    expect(page.get_by_role("heading", name="Log in")).to_be_visible()
    axe(page)


def test_the_login_page_is_usable_in_the_dark(open_page, axe):
    page = open_page("phone", color_scheme="dark")
    page.goto("/login/")
    axe(page)


def test_the_login_page_is_worked_by_keyboard_alone(desktop, head):
    from tests.factories import PASSWORD

    desktop.goto("/login/")
    desktop.get_by_label("Username").focus()
    desktop.keyboard.type(head.username)
    desktop.keyboard.press("Tab")
    desktop.keyboard.type(PASSWORD)
    desktop.keyboard.press("Enter")
    desktop.wait_for_url(lambda url: "/login/" not in url)


def test_a_wrong_password_is_told_beside_the_form_and_names_no_reason_to_guess(page, head, axe):
    page.goto("/login/")
    page.get_by_label("Username").fill(head.username)
    page.get_by_label("Password").fill("not the password")
    page.get_by_role("button", name="Log in").click()
    expect(page.get_by_text("Please enter a correct username and password")).to_be_visible()
    axe(page)


def test_the_page_never_scrolls_sideways_on_a_phone(phone):
    phone.goto("/login/")
    assert phone.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_the_login_works_without_javascript(open_page, head, sign_in):
    page = sign_in(open_page("phone", java_script_enabled=False), head)
    assert "/login/" not in page.url

"""Addresses outside a club: log in, log out, the way home."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path

from shared.access import for_anyone, guarded
from shared.views import home

urlpatterns = guarded(
    [
        path("", home.home, name="home"),
        # Logging in and out must work for people who are not logged in.
        path("login/", for_anyone(LoginView.as_view(template_name="shared/login.html")), name="login"),
        path("logout/", for_anyone(LogoutView.as_view()), name="logout"),
        # A load balancer or the test suite asks whether the site is up.
        path("up/", home.up, name="up"),
    ]
)

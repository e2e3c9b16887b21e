"""Addresses outside a club: log in, log out, the way home."""

from django.contrib.auth.views import LoginView, LogoutView, PasswordChangeView
from django.urls import path, reverse_lazy

from shared.access import for_anyone, for_members, guarded
from shared.views import home, invitations

own_password = PasswordChangeView.as_view(template_name="shared/own_password.html", success_url=reverse_lazy("home"))

urlpatterns = guarded(
    [
        path("", home.home, name="home"),
        # Logging in and out must work for people who are not logged in.
        path("login/", for_anyone(LoginView.as_view(template_name="shared/login.html")), name="login"),
        path("logout/", for_anyone(LogoutView.as_view()), name="logout"),
        path("join/<str:token>/", invitations.join, name="join"),
        path("password/", for_members(own_password), name="own_password"),
        # A load balancer or the test suite asks whether the site is up.
        path("up/", home.up, name="up"),
    ]
)

"""Addresses of a club that belong to no app: its members."""

from django.urls import path

from shared.access import guarded
from shared.views import members

urlpatterns = guarded(
    [
        path("members/", members.members, name="members"),
        path("members/new/", members.new_member, name="new_member"),
        path("members/<int:member>/", members.member, name="member"),
    ]
)

"""Addresses of a club that belong to no app: its members."""

from django.urls import path

from shared.access import guarded
from shared.views import invitations, members

urlpatterns = guarded(
    [
        path("members/", members.members, name="members"),
        path("members/new/", members.new_member, name="new_member"),
        path("members/invite/", invitations.new_invitation, name="new_invitation"),
        path("members/invited/<int:invitation>/end/", invitations.end_invitation, name="end_invitation"),
        path("members/<int:member>/", members.member, name="member"),
    ]
)

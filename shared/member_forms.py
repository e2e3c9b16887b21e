"""Who gets which role, and why."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.forms import UserCreationForm, UsernameField
from django.utils.translation import gettext_lazy as _

from shared.models import User
from shared.roles import ROLES

ROLE_CHOICES = [(key, role.name) for key, role in ROLES.items()]
NONE = "none"


class RoleForm(forms.Form):
    """Of somebody who is a member: another role, or none any more."""

    role = forms.ChoiceField(label=_("Role"), choices=[*ROLE_CHOICES, (NONE, _("no role: he leaves the club"))])
    why = forms.CharField(
        label=_("As what, or who asked for it"),
        max_length=120,
        help_text=_("is kept with your name; for example: physio of the firsts, asked by the committee"),
    )


class InvitationForm(RoleForm):
    """Of somebody who is none yet: which role has to be chosen."""

    name = forms.CharField(label=_("For whom"), max_length=120, help_text=_("his name, for the list of who is invited"))
    field_order = ("name", "role", "why")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["role"].choices = [("", _("choose")), *ROLE_CHOICES]


class NewMemberForm(InvitationForm):
    name = forms.CharField(
        label=_("Log-in name"),
        max_length=150,
        help_text=_("of somebody who has an account: of another club, or before"),
    )

    def clean_name(self) -> User:
        found = User.objects.filter(username=self.cleaned_data["name"].strip(), is_active=True).first()
        if found is None:
            raise forms.ValidationError(
                _("No account has this log-in name. Write it letter by letter, or invite him: he then makes one.")
            )
        return found


class AccountForm(UserCreationForm):
    """A new account: the password is judged by the rules of the settings.

    No log-in name differs from another one by capitals only: what is on record would name two people alike.
    """

    class Meta:
        model = User
        fields = ("first_name", "last_name", "username")
        field_classes = {"username": UsernameField}  # a phone then begins it with no capital

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("first_name", "last_name"):
            self.fields[name].required = True
        self.fields["username"].widget.attrs.pop("autofocus", None)  # what comes before it would not be read

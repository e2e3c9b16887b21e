"""A file between its preview and its confirmation.

Two steps: `keep` the file and show a preview of it; on confirmation `take` it, preview it again and
write. Nothing of the first preview is trusted, because the club's rows may have moved on meanwhile.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Callable, Mapping
from typing import Any

from django import forms
from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shared.cells import MOST_BYTES, Unreadable
from shared.models import Club, Upload, User
from shared.preview import Outdated, Preview

KEPT_FOR = dt.timedelta(days=1)


class UploadForm(forms.Form):
    file = forms.FileField(label=gettext_lazy("File"), help_text=gettext_lazy("CSV or XLSX, at most 2 MB"))


def keep(club: Club, file: UploadedFile, by: User) -> Upload:
    """Store a file until it is confirmed, and clear away those nobody confirmed for a day. Raises Unreadable."""
    if file.size > MOST_BYTES:
        raise Unreadable(
            _("“%(file)s” is larger than %(most).1f MB. Keep only what is needed and try again.")
            % {"file": file.name, "most": MOST_BYTES / 1_000_000}
        )
    Upload.objects.filter(made_at__lt=timezone.now() - KEPT_FOR).delete()
    return Upload.objects.create(club=club, name=file.name[:200], content=file.read(), made_by=by)


def keep_if_read(club: Club, form: forms.Form, by: User, read: Callable[[bytes, str], object]) -> Upload | None:
    """The file of a posted form, kept if `read` can make sense of its content and name; else the form says why not."""
    if not form.is_valid():
        return None
    try:
        kept = keep(club, form.cleaned_data["file"], by)
        read(bytes(kept.content), kept.name)
    except Unreadable as problem:
        form.add_error("file", str(problem))
        return None
    return kept


def confirmation(
    request: HttpRequest,
    club: Club,
    id: uuid.UUID,
    *,
    look: Callable[[bytes, str], Preview],
    write: Callable[[bytes, str, str], HttpResponse],
    again: str,
    template: str,
    shown: Mapping[str, Any],
) -> HttpResponse:
    """What the file would do. The button does exactly that, or shows what has become of it meanwhile.

    `look` makes the preview of a content and its name; `write` is given what was seen as well, and answers where to go
    on. Both may raise Unreadable, which leads to `again`, where a file is chosen; `write` may raise Outdated.
    """
    try:
        kept = take(club, id, request.user)
        content = bytes(kept.content)
        if request.method == "POST":
            answer = write(content, kept.name, request.POST.get("seen", ""))
            kept.delete()
            return answer
        preview = look(content, kept.name)
    except Unreadable as problem:
        messages.error(request, str(problem))
        return redirect(again)
    except Outdated as outdated:
        messages.warning(request, str(outdated))
        preview = outdated.preview
    return render(request, template, {**shown, "upload": kept, "preview": preview})


def take(club: Club, id: uuid.UUID, by: User) -> Upload:
    """The file that this person kept in this club; raises Unreadable if it is gone. Delete it once it is written."""
    upload = Upload.objects.filter(club=club, pk=id, made_by=by, made_at__gte=timezone.now() - KEPT_FOR).first()
    if upload is None:
        raise Unreadable(
            _("This file is no longer here: it was imported already or is over a day old. Choose it again.")
        )
    return upload

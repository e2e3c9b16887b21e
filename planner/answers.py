"""What an edit by hand did, in the words that its page answers with."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.changes import Refused
from planner.overview import FigureLine, figure_lines
from planner.verdicts import Verdict


@dataclass(frozen=True)
class Answer:
    """`reasons`: why nothing was written; `better` and `worse`: who gains and who loses, a sentence each."""

    reasons: tuple[str, ...] = ()
    better: tuple[str, ...] = ()
    worse: tuple[str, ...] = ()
    figures: tuple[FigureLine, ...] = ()

    @classmethod
    def to(cls, verdict: Verdict) -> Answer:
        """Of a refused edit only the reasons are told: what it would have gained is beside the point."""
        if verdict.is_refused:
            return cls(reasons=tuple(breach.text for breach in verdict.breaches))
        lines = figure_lines(verdict.before.to_json(), verdict.after.to_json())
        moved = tuple(line for line in lines if line.value != line.other)
        return cls(better=verdict.gains, worse=verdict.losses, figures=moved)

    @classmethod
    def refusing(cls, refusal: Refused) -> Answer:
        return cls(reasons=tuple(refusal.reasons))

    @classmethod
    def mistaken(cls, errors: Iterable[str]) -> Answer:
        return cls(reasons=tuple(errors))

    @property
    def is_refused(self) -> bool:
        return bool(self.reasons)

    @property
    def headline(self) -> str:
        if self.is_refused:
            return _("Nothing was changed.")
        if not self.better and not self.worse:
            return _("Done. Nobody gains or loses by it.")
        return _("Done. %(better)s, %(worse)s.") % {
            "better": ngettext("%(n)d thing better", "%(n)d things better", len(self.better)) % {"n": len(self.better)},
            "worse": ngettext("%(n)d worse", "%(n)d worse", len(self.worse)) % {"n": len(self.worse)},
        }

    def __str__(self) -> str:
        """All of it in one paragraph, for a page that is loaded anew."""
        parts = [self.headline, *self.reasons]
        if self.better:
            parts.append(_("Better: %(what)s.") % {"what": "; ".join(self.better)})
        if self.worse:
            parts.append(_("Worse: %(what)s.") % {"what": "; ".join(self.worse)})
        return " ".join(parts)

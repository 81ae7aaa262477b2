"""What has to be asked for a rule to be tried: a rule about which a profile asks nothing finds nothing."""

from __future__ import annotations

from collections.abc import Callable

from worker.profiles import Profile

_ASKED: dict[str, Callable[[Profile], bool]] = {
    "pdf-version": lambda profile: profile.interior.file.pdf_versions is not None,
    "pdfx-conformance": lambda profile: bool(profile.interior.file.pdfx),
    "file-size": lambda profile: profile.interior.file.most_bytes is not None,
    "page-count": lambda profile: any(_counts(profile, "least") + _counts(profile, "most")),
    "page-multiple": lambda profile: any(_counts(profile, "multiple")),
    "bleed-missing": lambda profile: profile.interior.bleed is not None,
    "bleed-short": lambda profile: profile.interior.bleed is not None and profile.interior.bleed.amount is not None,
    "inside-margin": lambda profile: bool(profile.interior.margins.inside),
    "outside-margin": lambda profile: profile.interior.margins.outside is not None,
    "head-margin": lambda profile: profile.interior.margins.head is not None,
    "foot-margin": lambda profile: profile.interior.margins.foot is not None,
    "font-not-embedded": lambda profile: profile.interior.type.embedded is True,
    "font-restricted": lambda profile: profile.interior.type.embedded is True,
    "small-type": lambda profile: profile.interior.type.least_size is not None,
    "image-resolution": lambda profile: bool(profile.interior.images.least_ppi or profile.interior.images.wanted_ppi),
    "line-art-resolution": lambda profile: profile.interior.images.line_art_ppi is not None,
    "image-oversampled": lambda profile: profile.interior.images.most_ppi is not None,
    "ink-coverage": lambda profile: profile.interior.colour.most_ink is not None,
    "transparency": lambda profile: profile.interior.colour.transparency is False,
    "output-intent": lambda profile: bool(profile.interior.file.pdfx),
    "colour-space": lambda profile: profile.interior.colour.spaces is not None,
    "thin-rule": lambda profile: profile.interior.colour.least_rule is not None,
    "blank-run": lambda profile: profile.interior.blanks.longest_run is not None,
    "blank-first": lambda profile: profile.interior.blanks.first is False,
    "blank-end": lambda profile: profile.interior.blanks.end is not None,
    "link-annotation": lambda profile: profile.interior.links.allowed is False,
}


def is_asked(rule: str, profile: Profile) -> bool:
    """Whether the profile asks anything of the rule and has not turned it off.

    What no profile has a key for is asked by all.
    """
    return profile.weights.get(rule) != "off" and (rule not in _ASKED or _ASKED[rule](profile))


def _counts(profile: Profile, key: str) -> list[int | None]:
    counts = [profile.interior.page_count, *(trim.page_count for trim in profile.interior.trims)]
    return [getattr(count, key) for count in counts]

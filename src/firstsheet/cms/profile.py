"""What an ICC profile says of itself, in one record.

Takes bytes, however damaged; gives ProfileFacts, never an exception. The container is in
`container`, the checklist in `checklist`, the rules of kind in `kind`.
Theory: docs/theory/icc.md. Tests: tests/cms/test_cms_profile.py.
"""

from __future__ import annotations

import hashlib

from firstsheet.cms.checklist import cannot_convert, find_problems
from firstsheet.cms.container import Profile, parse_profile
from firstsheet.cms.kind import is_wide, matching_space, profile_kind
from firstsheet.engine.errors import ProfileError
from firstsheet.engine.records import ProfileFacts

__all__ = ["Profile", "parse_profile", "profile_facts"]


def profile_facts(data: bytes | None) -> ProfileFacts:
    """Read a profile's facts and hold it against the checklist.

    Parameters
    ----------
    data
        The profile's bytes; None or empty where a file carries none (kind `other`, with that
        as its one problem).
    """
    if not data:
        return ProfileFacts(kind="other", problems=("There is no profile.",))
    digest = hashlib.sha256(data).hexdigest()
    try:
        profile = parse_profile(data)
    except ProfileError as error:
        return ProfileFacts(
            kind="broken", sha256=digest, size_bytes=len(data), problems=(error.found,)
        )
    unreadable = cannot_convert(profile)
    problems = find_problems(profile)
    is_rgb = profile.colour_space == "RGB" and not unreadable
    return ProfileFacts(
        description=_printable(profile.description),
        version=profile.version_text,
        device_class=_printable(profile.device_class),
        colour_space=_printable(profile.colour_space),
        pcs=_printable(profile.pcs),
        kind="broken" if unreadable else profile_kind(profile),
        sha256=digest,
        size_bytes=len(data),
        has_tables=any(name[:3] in ("A2B", "B2A") for name in profile.tags),
        problems=(unreadable, *problems) if unreadable else problems,
        space=matching_space(profile) if is_rgb else "",
        wide=is_wide(profile) if is_rgb else None,
    )


def _printable(text: str) -> str:
    """Text without control characters, which damaged profiles hold."""
    return "".join(char for char in text if char.isprintable())[:200]

"""What an ICC profile says of itself, in one record.

Takes bytes, however damaged; gives ProfileFacts, never an exception. The container is in
`container`, the checklist in `checklist`, the rules of kind in `kind`.
Theory: docs/theory/icc.md. Tests: tests/cms/test_cms_profile.py.
"""

from __future__ import annotations

import hashlib

from firstsheet.cms.container import Profile, parse_profile
from firstsheet.engine.errors import ProfileError
from firstsheet.engine.records import ProfileFacts

__all__ = ["Profile", "parse_profile", "profile_facts"]


def profile_facts(data: bytes | None) -> ProfileFacts:
    """Read a profile's facts and hold it against the checklist.

    Parameters
    ----------
    data
        The profile's bytes; None or empty where a file carries none.
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
    kinds = {"scnr": "input", "prtr": "output", "mntr": "working", "spac": "working"}
    kind = "grey" if profile.colour_space == "GRAY" else kinds.get(profile.device_class, "other")
    return ProfileFacts(
        description=profile.description,
        version=profile.version_text,
        device_class=profile.device_class,
        colour_space=profile.colour_space,
        pcs=profile.pcs,
        kind=kind,
        sha256=digest,
        size_bytes=len(data),
        has_tables=any(name[:3] in ("A2B", "B2A") for name in profile.tags),
    )

"""Every sentence the web room says itself, in one place. Everything else is said by the jobs."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["REFUSALS"]

# code: found, consequence, choice
REFUSALS: Mapping[str, tuple[str, str, str]] = MappingProxyType(
    {
        "wrong-host": (
            "The request names another host.",
            "Only this computer's own address is answered, so that no other page can reach in.",
            "Open the address that the command printed.",
        ),
        "wrong-origin": (
            "The request comes from another page.",
            "It was not followed.",
            "Use the page that the command opened.",
        ),
        "no-key": (
            "This browser has not been let in, or the address was used already.",
            "Nothing is shown to it.",
            "Open the bench again with the command; it prints a fresh address.",
        ),
        "not-found": (
            "There is nothing at this address.",
            "Nothing was done.",
            "Go back to the page's beginning.",
        ),
        "not-json": (
            "The request is not what this page sends.",
            "Nothing was changed.",
            "Load the page again.",
        ),
        "too-large": (
            "That is larger than any profile.",
            "It was not kept.",
            "Choose the .icc file of the paper.",
        ),
        "failed": (
            "Something went wrong inside the program.",
            "Nothing was lost: the ticket is kept as it was.",
            "Load the page again; if it comes back, report it with what stands in the terminal.",
        ),
    }
)

"""What the plan says about colour: converted once, which intent, what the paper takes away.

Takes records already decided; gives findings. Theory: docs/theory/loss.md.
Tests: tests/engine/test_plan.py.
"""

from __future__ import annotations

from firstsheet.engine.findings import PRACTICE, choice, finding, joined, percent, shown
from firstsheet.engine.records import Finding, PictureFacts, Stock, Ticket
from firstsheet.engine.records.losses import PictureLosses
from firstsheet.engine.records.plan import ColourPlan, LossFacts

__all__ = ["colour_findings"]

_VISIBLE_DE00 = 1.0
_MUCH_LOST_PERCENT = 5.0
_MUCH_MERGED_PERCENT = 1.0


def colour_findings(
    ticket: Ticket,
    facts: PictureFacts,
    stock: Stock,
    colour: ColourPlan,
    loss: LossFacts | None,
    regions: PictureLosses | None = None,
) -> tuple[Finding, ...]:
    """Converted once or not at all, which intent, and what is lost.

    Where the regions are known they say what is truly lost; the shares are then no alarm.
    """
    return (
        *_conversion(ticket, facts, stock, colour),
        *_intent(stock, colour, loss),
        *_lost(colour, loss, regions),
        *_stock_profile(stock),
    )


_INSIST = "Convert it all the same."


def _conversion(
    ticket: Ticket, facts: PictureFacts, stock: Stock, colour: ColourPlan
) -> tuple[Finding, ...]:
    separated = facts.colour_model == "cmyk"  # a press file: converting it is the only way
    already = facts.profile is not None and facts.profile.kind == "output" and not separated
    if colour.mode == "keep":
        return (
            finding(
                "colour-kept",
                "fine",
                f"The print file stays in the picture's own space, {colour.source_name}.",
                "Whoever prints it converts it, once. The proof still shows this paper.",
                "Tell the lab which space the file is in; it is embedded.",
            ),
        )
    if already and colour.mode == "paper":
        twice = ticket.colour.convert_again
        return (
            finding(
                "converted-twice",
                "caution" if twice else "stop",
                f"The file is already in a printer's colours: {colour.source_name}.",
                "Converting it again usually ruins it"
                + ("; it is done because the ticket insists." if twice else "."),
                "Go back to the master in a working space.",
                choice("Print it as it is.", {"colour.keep": "true"}),
                *(() if twice else (choice(_INSIST, {"colour.convert-again": "true"}),)),
            ),
        )
    if colour.mode == "as-is":
        return (_as_is(ticket, facts, stock, colour),)
    return ()


def _as_is(ticket: Ticket, facts: PictureFacts, stock: Stock, colour: ColourPlan) -> Finding:
    """A file already in a printer's colours, left alone; another paper's only if insisted on."""
    own = stock.facts.profile.sha256 if stock.facts else ""
    if facts.profile is not None and own and facts.profile.sha256 == own:
        return finding(
            "colour-as-is",
            "fine",
            f"The file is already in the colours of {stock.title}: it carries that very profile.",
            "It goes out unchanged; converting it again would ruin it.",
        )
    insisted = ticket.colour.keep
    return finding(
        "colour-as-is" if insisted else "output-profile",
        "caution" if insisted else "stop",
        f"The file is already in a printer's colours, {colour.source_name}"
        + ("; it goes out unchanged." if insisted else "."),
        f"Unchanged it is right only if that is {stock.title} on this printer; converting it again "
        "usually ruins it.",
        "Go back to the master in a working space.",
        *(() if insisted else (choice("Print it as it is.", {"colour.keep": "true"}),)),
        choice(
            _INSIST,
            {"colour.convert-again": "true", **({"colour.keep": ""} if insisted else {})},
        ),
    )


def _intent(stock: Stock, colour: ColourPlan, loss: LossFacts | None) -> tuple[Finding, ...]:
    if colour.mode != "paper":
        return ()
    others = [one for one in (loss.intents if loss else ()) if one.intent != colour.intent]
    found = []
    if others and max(one.differs_from_chosen_max_de00 for one in others) < _VISIBLE_DE00:
        largest = max(one.differs_from_chosen_max_de00 for one in others)
        found.append(
            finding(
                "intents-alike",
                "fine",
                f"All rendering intents print this picture alike: at most ΔE00 {largest:.1f}.",
                "The choice of intent makes no visible difference here.",
                figures={"max_de00": largest},
            )
        )
    elif loss and loss.recommended and loss.recommended != colour.intent:
        found.append(
            finding(
                "other-intent-better",
                "caution",
                f"{colour.intent.capitalize()} is chosen; {loss.recommended} suits this picture "
                "better.",
                loss.recommendation,
                choice(f"Use {loss.recommended}.", {"colour.intent": loss.recommended}),
            )
        )
    elif loss and loss.recommendation:
        found.append(
            finding("intent-suits", "fine", f"Intent: {colour.intent}.", loss.recommendation)
        )
    same = [
        f"{one.intent} gives the same as {one.same_as}"
        for one in (stock.facts.intents if stock.facts else ())
        if one.same_as is not None
    ]
    if same:
        found.append(
            finding(
                "profile-intents-identical",
                "fine",
                f"In the profile of {stock.title}, {joined(same)}.",
                "Choosing between them changes nothing.",
            )
        )
    if colour.intent == "relative" and not colour.black_point:
        found.append(
            finding(
                "no-black-point",
                "caution",
                "Black point compensation is off.",
                "Shadows darker than the paper's black are cut off instead of being fitted in.",
                choice("Turn it on, as for photographs.", {"colour.black-point": "true"}),
                source=PRACTICE,
            )
        )
    return tuple(found)


def _lost(
    colour: ColourPlan, loss: LossFacts | None, regions: PictureLosses | None
) -> tuple[Finding, ...]:
    if loss is None or colour.mode != "paper":
        return ()
    strong = loss.bands_percent[3] + loss.bands_percent[4]
    plain = strong + loss.bands_percent[2]
    figures: dict[str, float | int | str | bool] = {
        "over_2_percent": plain,
        "over_5_percent": strong,
        "mean_de00": loss.mean_de00,
        "max_de00": loss.max_de00,
    }
    alarming = strong > _MUCH_LOST_PERCENT and regions is None
    found = [
        finding(
            "colour-lost",
            "caution" if alarming else "fine",
            f"{shown('loss-over-2', percent(plain))} of the picture shifts by more than ΔE00 2, "
            f"{shown('loss-over-5', percent(strong))} by more than 5 "
            f"(mean {shown('loss-mean', f'{loss.mean_de00:.1f}')}, "
            f"largest {shown('loss-max', f'{loss.max_de00:.1f}')}).",
            _moved_words(strong, regions),
            *(
                (
                    choice("Look at the losses.", goes_to="losses"),
                    choice("Compare papers and intents.", goes_to="compare"),
                )
                if alarming
                else ()
            ),
            figures=figures,
        )
    ]
    if loss.merged_shadow_levels > 1 and loss.merged_shadow_percent > 0:
        much = loss.merged_shadow_percent > _MUCH_MERGED_PERCENT
        found.append(
            finding(
                "shadows-merged",
                "caution" if much else "fine",
                f"The {shown('merged-levels', str(loss.merged_shadow_levels))} darkest of 256 grey "
                f"levels merge into black; {percent(loss.merged_shadow_percent)} of the picture "
                "lies there.",
                "Detail in those shadows is lost on this paper."
                if much
                else "Little of the picture is touched.",
                *(
                    (
                        choice("Lift the deepest shadows a little.", goes_to="losses"),
                        choice("Compare papers with a deeper black.", goes_to="compare"),
                    )
                    if much
                    else ()
                ),
                figures={
                    "levels": loss.merged_shadow_levels,
                    "share_percent": loss.merged_shadow_percent,
                },
            )
        )
    return tuple(found)


def _moved_words(strong_percent: float, regions: PictureLosses | None) -> str:
    if strong_percent <= _MUCH_LOST_PERCENT:
        return "Side by side with the screen this is hardly noticed."
    if regions is None:
        return "These areas print duller or darker than the file says; the loss map shows where."
    if regions.nothing_to_do:
        return "Detail there survives; the shift shows only beside the screen."
    return "A shift alone is no fault; visible losses are listed by area."


def _stock_profile(stock: Stock) -> tuple[Finding, ...]:
    problems = stock.facts.profile.problems if stock.facts else ()
    return tuple(
        finding(
            "stock-profile",
            "caution",
            f"The profile of {stock.title}: {problem}",
            "Proof and print may not agree.",
            "Ask for a sound profile, or make one.",
        )
        for problem in problems
    )

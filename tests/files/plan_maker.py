"""A plausible plan, put together by hand, for tests of what is written from one."""

from __future__ import annotations

from typing import Any

from firstsheet.engine.findings import finding
from firstsheet.engine.records import (
    MarginsMm,
    PictureFacts,
    Place,
    PrintWish,
    ProfileFacts,
    Stock,
    Ticket,
)
from firstsheet.engine.records.plan import (
    ColourPlan,
    DistanceVerdict,
    IntentLoss,
    LossFacts,
    OutputPlan,
    Plan,
    SharpenPlan,
    SheetPlan,
    SizePlan,
)

SOURCE_SHA = "9f2c41d07be3a85516c0ffee0123456789abcdef0123456789abcdef01234567"
PROFILE_SHA = "51ab7d20c0de0123456789abcdef0123456789abcdef0123456789abcdef9999"
DIGEST = "c3d1f7a2b4e59687c3d1f7a2b4e59687c3d1f7a2b4e59687c3d1f7a2b4e59687"

FINDINGS = (
    finding(
        code="size-verdict",
        weight="fine",
        found="The file gives 315 pixels per inch at this size.",
        consequence="From half a metre the eye cannot tell it from a finer one.",
    ),
    finding(
        code="feed-margin",
        weight="caution",
        found="The printer leaves 17 mm bare at the end that leaves it last.",
        consequence="The border on the right cannot become narrower than that.",
        choices=("Keep the border as it is.", "Print without a border and trim."),
    ),
    finding(
        code="merged-shadows",
        weight="caution",
        found="Of the darkest 256 levels 9 print as the same black.",
        consequence="The bollards under the quay lose their drawing; 1.8 % of the picture.",
        choices=("Open the shadows a little in the master.", "Take the satin paper."),
    ),
)


def make_test_plan(**changes: Any) -> Plan:
    """A 381 × 254 mm picture on a wide A3+ sheet at 360 ppi; fields can be changed by name."""
    ppi = 360.0
    width_px, height_px = 5400, 3600
    sheet_px = (6846, 4663)  # 483 × 329 mm
    left, top = (sheet_px[0] - width_px) // 2, (sheet_px[1] - height_px) // 2

    def mm(px: float) -> float:
        return px / ppi * 25.4

    fields: dict[str, Any] = {
        "made_by": "firstsheet 0.1.0",
        "ticket": Ticket(
            picture="ferry-stairs.tif",
            stock="chalk-matte-310",
            print=PrintWish(width_mm=381, sheet="A3+"),
        ),
        "picture": PictureFacts(
            path="/home/ada/scans/ferry-stairs.tif",
            sha256=SOURCE_SHA,
            size_bytes=144_003_200,
            format="TIFF",
            compression="none",
            page=1,
            pages=1,
            stored_width_px=6000,
            stored_height_px=4000,
            orientation=1,
            width_px=6000,
            height_px=4000,
            colour_model="rgb",
            bits=16,
            sample_format="uint",
            true_bits=16,
        ),
        "stock": Stock(
            name="chalk-matte-310",
            title="Chalk Matte 310",
            profile_file="chalk-matte-310.icc",
            surface="matte",
            native_ppi=360,
            margins=MarginsMm(top=5, right=5, bottom=17, left=5),
            media_setting="Fine art paper, matte, heavy",
            notes="Front feed for sheets over 0.4 mm.",
        ),
        "place": Place(distance_mm=1500, illuminance_lux=200, lamp="warm"),
        "size": SizePlan(
            crop_left_px=0,
            crop_top_px=0,
            crop_width_px=6000,
            crop_height_px=4000,
            crop_loss_percent=0,
            crop_loss_mm=(0, 0, 0, 0),
            width_px=width_px,
            height_px=height_px,
            ppi=ppi,
            width_mm=mm(width_px),
            height_mm=mm(height_px),
            effective_ppi=400.0,
            scale=0.9,
            enlarged=False,
            resample="reduce",
            verdicts=(
                DistanceVerdict(
                    name="the stated distance",
                    distance_mm=1500,
                    needed_ppi=58.2,
                    effective_ppi=400.0,
                    beyond_eye=True,
                    step="excellent",
                    sentence="From 1.5 m the eye asks for 58 ppi; the file gives 400.",
                ),
            ),
        ),
        "sheet": SheetPlan(
            name="A3+",
            width_px=sheet_px[0],
            height_px=sheet_px[1],
            width_mm=mm(sheet_px[0]),
            height_mm=mm(sheet_px[1]),
            asked_width_mm=483,
            asked_height_mm=329,
            picture_left_px=left,
            picture_top_px=top,
            border_mm=(
                mm(top),
                mm(sheet_px[0] - width_px - left),
                mm(sheet_px[1] - height_px - top),
                mm(left),
            ),
            margins=MarginsMm(top=5, right=17, bottom=5, left=5),
            fits_printable=True,
        ),
        "sharpen": SharpenPlan(
            strength=1.0,
            name="usual",
            radius_mm=0.14,
            radius_px=2.0,
            gain=1.2,
            halo_width_mm=0.4,
            overshoot_limit_l=4.0,
            edge_low_l=1.0,
            edge_high_l=4.0,
            reason="matte paper seen from 1.5 m",
        ),
        "colour": ColourPlan(
            mode="paper",
            source_name="opRGB",
            source_profile_sha256="77" * 32,
            intent="relative",
            black_point=True,
            link="device link, 65 steps",
            link_mean_de00=0.012,
            link_p99_de00=0.041,
            link_max_de00=0.19,
        ),
        "loss": LossFacts(
            mean_de00=1.4,
            p95_de00=4.7,
            max_de00=13.2,
            floor_de00=0.62,
            bands_percent=(62.1, 19.4, 14.2, 3.8, 0.5),
            merged_shadow_levels=9,
            merged_shadow_percent=1.8,
            white_l=95.1,
            black_l=18.3,
            contrast=34.6,
            intents=(
                IntentLoss(
                    intent="relative",
                    mean_de00=1.4,
                    p95_de00=4.7,
                    share_over_2_percent=18.5,
                    share_over_5_percent=4.3,
                    merged_levels=9,
                    differs_from_chosen_max_de00=0,
                ),
            ),
            recommended="relative",
            recommendation="Relative keeps the hulls nearest to the master.",
        ),
        "rescan": None,
        "output": OutputPlan(
            bits=16,
            compression="none",
            big_tiff=False,
            print_file_bytes=6846 * 4663 * 6,
            ruler=True,
            key=True,
        ),
        "findings": FINDINGS,
        "verdict": "Good enough for 1.5 m and for the hand: 400 pixels per inch at this size.",
        "digest": DIGEST,
    }
    fields.update(changes)
    plan = Plan.model_validate(fields)
    return plan.model_copy(update={"stock": plan.stock.model_copy(update={"facts": None})})


def stock_profile() -> ProfileFacts:
    """Facts of an invented output profile."""
    return ProfileFacts(
        description="Chalk Matte 310",
        version="4.3",
        device_class="prtr",
        colour_space="RGB",
        pcs="Lab",
        kind="output",
        sha256=PROFILE_SHA,
        size_bytes=600_000,
        has_tables=True,
    )

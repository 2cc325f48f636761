"""The precision trap: a sampled proof transform is wrong on greys, ours is not.

Published finding (Little CMS 2.14 in double precision as truth, profiles of libvips): the
default 8-bit proof of a grey ramp is off by up to 4.4 ΔE00, unoptimised by 0.8 at most.
"""

import io

import numpy as np
import pytest
from imagecodecs import cms_transform
from numpy.typing import NDArray
from PIL import Image, ImageCms

from firstsheet.cms.chain import build_chain
from firstsheet.cms.link import apply_link, apply_proof, paper_link, proof_link, source_colour
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import lab_to_xyz, xyz_to_lab
from firstsheet.engine.colour.spaces import SPACES

pytestmark = pytest.mark.published
Floats = NDArray[np.float64]
GREYS = np.arange(256, dtype=np.uint8)[:, None].repeat(3, axis=1)


def exact_proof(rgb: Floats, srgb: bytes, press: bytes) -> Floats:
    """Relative to the press, absolute to the screen: the engine in float, two plain steps."""
    ink = cms_transform(
        rgb[None], srgb, press, colorspace="rgb", outcolorspace="cmyk", outdtype="f8",
        intent=1, flags=0x0100,
    )  # fmt: skip
    shown = cms_transform(
        np.asarray(ink), press, srgb, colorspace="cmyk", outcolorspace="rgb", outdtype="f8",
        intent=3, flags=0x0100,
    )  # fmt: skip
    return np.asarray(np.clip(np.asarray(shown)[0], 0, 1))


def seen(rgb: Floats) -> Floats:
    return xyz_to_lab(SPACES["srgb"].to_xyz_d50(rgb))


def test_the_grey_of_our_proof_is_right(press: bytes, libvips_srgb: bytes) -> None:
    chain = build_chain(
        source_profile=libvips_srgb, colour_model="rgb", paper_profile=press,
        intent="relative", black_point=False,
    )  # fmt: skip
    truth = exact_proof(GREYS / 255, libvips_srgb, press)
    device = apply_link(paper_link(chain), source_colour(chain), GREYS / 255)
    proof = proof_link(chain)
    shown_xyz = lab_to_xyz(apply_proof(proof, device)) * proof.absolute_scale
    ours = np.clip(SPACES["srgb"].from_xyz_d50(shown_xyz), 0, 1)

    gap = delta_e_2000(seen(ours), seen(truth))
    assert gap.max() <= 1.0  # the published bar
    assert gap.max() <= 0.1  # what it is: 0.03
    eight_bits = delta_e_2000(seen(np.round(ours * 255) / 255), seen(truth))
    assert eight_bits.max() <= 1.0


def test_the_common_8_bit_path_falls_into_the_trap(press: bytes, libvips_srgb: bytes) -> None:
    screen, printer = (ImageCms.ImageCmsProfile(io.BytesIO(d)) for d in (libvips_srgb, press))
    relative, absolute = (
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
        ImageCms.Intent.ABSOLUTE_COLORIMETRIC,
    )
    picture = Image.fromarray(GREYS[None])
    truth = seen(exact_proof(GREYS / 255, libvips_srgb, press))
    worst = {}
    for name, flags in (
        ("default", ImageCms.Flags.SOFTPROOFING),
        ("unoptimised", ImageCms.Flags.SOFTPROOFING | ImageCms.Flags.NOOPTIMIZE),
    ):
        transform = ImageCms.buildProofTransform(
            screen, screen, printer, "RGB", "RGB", relative, absolute, flags
        )
        shown = ImageCms.applyTransform(picture, transform)
        assert shown is not None
        worst[name] = float(delta_e_2000(seen(np.asarray(shown)[0] / 255), truth).max())
    assert worst["default"] > 3.0
    assert worst["unoptimised"] <= 1.0

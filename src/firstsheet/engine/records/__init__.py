"""The frozen records that travel from package to package.

Everything here is data: no methods that compute. Imports nothing above `engine.units`.
Lengths are mm, colours CIELAB D50 unless a name says otherwise. The plan has its own module,
`records.plan`.
"""

from __future__ import annotations

from firstsheet.engine.records.base import Record
from firstsheet.engine.records.finding import Choice, Finding, Span, Weight
from firstsheet.engine.records.picture import ChannelFacts, PictureFacts
from firstsheet.engine.records.place import Place
from firstsheet.engine.records.repair import RepairWish
from firstsheet.engine.records.stock import (
    Intent,
    IntentFacts,
    MarginsMm,
    ProfileFacts,
    Stock,
    StockFacts,
)
from firstsheet.engine.records.ticket import (
    BorderWish,
    ColourWish,
    CropWish,
    DetailWish,
    OutputWish,
    PrintWish,
    Ticket,
)

__all__ = [
    "BorderWish",
    "ChannelFacts",
    "Choice",
    "ColourWish",
    "CropWish",
    "DetailWish",
    "Finding",
    "Intent",
    "IntentFacts",
    "MarginsMm",
    "OutputWish",
    "PictureFacts",
    "Place",
    "PrintWish",
    "ProfileFacts",
    "Record",
    "RepairWish",
    "Span",
    "Stock",
    "StockFacts",
    "Ticket",
    "Weight",
]

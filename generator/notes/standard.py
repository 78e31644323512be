"""Names of the Open Repair Data Standard, version 0.3 (openrepair.org), from memory.

The lists were not checked against the published text, so an unknown category is a warning only.
"""

from __future__ import annotations

import re

COUNTRY = re.compile(r"[A-Z]{3}")  # ISO 3166-1 alpha-3, as the standard has it (from memory)

OUTCOMES = ("fixed", "repairable", "end of life", "unknown")

END_OF_LIFE = "end of life"

BARRIERS = (
    "spare parts not available", "spare parts too expensive", "no way to open the product",
    "repair information not available", "lack of equipment", "item too worn out",
)  # fmt: skip

CATEGORIES = (
    "Aircon/dehumidifier", "Battery/charger/adapter", "Coffee maker", "Decorative or safety lights",
    "Desktop computer", "Digital compact camera", "DSLR/video camera", "Fan", "Flat screen", "Food processor",
    "Games console", "Hair & beauty item", "Hair dryer", "Handheld entertainment device", "Headphones",
    "Hi-Fi integrated", "Hi-Fi separates", "Iron", "Kettle", "Lamp", "Large home electrical", "Laptop",
    "Misc", "Mobile", "Musical instrument", "Paper shredder", "PC accessory", "Portable radio", "Power tool",
    "Printer/scanner", "Projector", "Sewing machine", "Small home electrical", "Small kitchen item", "Tablet",
    "Toaster", "Toy", "TV and gaming-related accessories", "Vacuum", "Watch/clock",
)  # fmt: skip

# The columns of a record, in the standard's order.
COLUMNS = (
    "id", "data_provider", "country", "partner_product_category", "product_category", "product_category_id",
    "brand", "year_of_manufacture", "product_age", "repair_status", "repair_barrier_if_end_of_life",
    "group_identifier", "event_date", "problem",
)  # fmt: skip

# How records spell what notes say.
STATUS_NAMES = {outcome: outcome.capitalize() for outcome in OUTCOMES}
BARRIER_NAMES = dict(
    zip(
        BARRIERS,
        (
            "Spare parts not available",
            "Spare parts too expensive",
            "No way to open product",
            "Repair information not available",
            "Lack of equipment",
            "Too worn out",
        ),
    )
)

# Collections that were published spell two of them as notes do (from memory).
_BARRIERS = {name.casefold(): barrier for barrier, name in BARRIER_NAMES.items()} | {b: b for b in BARRIERS}


def barrier_named(text: str) -> str:
    """The barrier that a record names, as notes have it; "" for none of them."""
    return _BARRIERS.get(text.casefold(), "")

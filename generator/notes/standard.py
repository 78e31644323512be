"""Names of the Open Repair Data Standard, version 0.3 (openrepair.org), from memory.

The lists were not checked against the published text, so an unknown category is a warning only.
"""

from __future__ import annotations

OUTCOMES = ("fixed", "repairable", "end of life", "unknown")

END_OF_LIFE = "end of life"

BARRIERS = (
    "spare parts not available",
    "spare parts too expensive",
    "no way to open the product",
    "repair information not available",
    "lack of equipment",
    "item too worn out",
)

CATEGORIES = (
    "Aircon/dehumidifier",
    "Battery/charger/adapter",
    "Coffee maker",
    "Decorative or safety lights",
    "Desktop computer",
    "Digital compact camera",
    "DSLR/video camera",
    "Fan",
    "Flat screen",
    "Food processor",
    "Games console",
    "Hair & beauty item",
    "Hair dryer",
    "Handheld entertainment device",
    "Headphones",
    "Hi-Fi integrated",
    "Hi-Fi separates",
    "Iron",
    "Kettle",
    "Lamp",
    "Large home electrical",
    "Laptop",
    "Misc",
    "Mobile",
    "Musical instrument",
    "Paper shredder",
    "PC accessory",
    "Portable radio",
    "Power tool",
    "Printer/scanner",
    "Projector",
    "Sewing machine",
    "Small home electrical",
    "Small kitchen item",
    "Tablet",
    "Toaster",
    "Toy",
    "TV and gaming-related accessories",
    "Vacuum",
    "Watch/clock",
)

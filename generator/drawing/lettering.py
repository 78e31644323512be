"""How wide a text is in the drawings' own letters, without a screen.

The theme ships the face (themes/bench/static/type, a condensed sans under the SIL Open Font License). Every text of
a drawing carries its width as textLength, so that it takes that room also where another face stands in.
"""

from __future__ import annotations

import unicodedata

SIZE = 13.5  # pixels; the size of texts in drawings, as bench.css sets them
UNKNOWN, WIDE = 620, 1000  # thousandths of an em, of letters that the face lacks; WIDE: East Asian ones

# Thousandths of an em, the wider of the two weights, as the font's own table of advances (hmtx) has them.
_ADVANCES = {
    221: " \u00a0", 224: "'", 226: ",", 229: ".:;·‘’‚", 230: "!¡", 259: "ijìíîïĩīĭįıĵ", 269: "IÌÍÎÏĨĪĬĮİ",
    273: "lĺļ", 290: "JĴ", 293: "{}", 295: "[]", 300: "()", 303: "¸", 319: "`´", 329: "fſ", 332: "ł",
    333: "•", 340: "¯", 345: "|¦ľ", 352: "tţťŧ", 365: "²³¹", 366: "rŕŗř", 375: "-", 416: "ŀ", 417: "*",
    418: "zźżž", 425: '"', 427: "¨", 435: "“”„", 436: "c¢çćĉċč", 438: "sśŝşšτ", 441: "F", 443: "?¿", 455: "ª",
    456: "º", 465: "LĹĻĽĿ", 468: "/\\", 469: "x°", 470: "<=>v×÷−", 471: "_", 474: "~", 475: "–",
    476: "EyÈÉÊËýÿĒĔĖĘĚŷ", 483: "+", 484: "¬±", 490: "TŢŤŦ", 491: "£", 492: "ZŹŻŽ", 497: "agàáâãäåāăąĝğġģ",
    498: "$§", 504: "0123456789¤", 505: "Ł", 507: "eèéêëēĕėęě", 508: "#ĸ", 509: "kķ", 510: "^", 515: "θ",
    517: "¥", 518: "ĳ", 519: "SŚŜŞŠ", 521: "uùúûüũūŭůűų", 524: "CÇĆĈĊČ", 525: "Vhnñĥńņňŋ", 528: "µμ",
    530: "X", 531: "ħ", 532: "ð", 534: "oòóôõöøōŏő", 536: "€", 542: "YÝŶŸ", 543: "AbpÀÁÂÃÄÅþĀĂĄ", 544: "PÞ",
    545: "dq", 551: "đΔ", 552: "ß", 556: "π", 559: "BĲ", 562: "RŔŖŘ", 575: "®", 581: "KĶ", 587: "»", 589: "«",
    590: "GUÙÚÛÜĜĞĠĢŨŪŬŮŰŲ", 595: "DĎ", 605: "NÑŃŅŇŊ", 606: "HĤ", 611: "ÐĐ", 615: "Ħ", 622: "Ω",
    630: "OQÒÓÔÕÖØŌŎŐ", 635: "ď", 643: "ŉ", 687: "wŵ", 690: "φ…", 692: "&", 719: "¶", 720: "M", 725: "—",
    729: "©", 766: "Æ", 767: "m", 772: "WŴ", 776: "æ", 788: "%", 819: "™", 820: "Œ", 825: "œ", 888: "¼½¾",
    924: "@",
}  # fmt: skip
_ADVANCE = {letter: units for units, letters in _ADVANCES.items() for letter in letters}


def width(text: str, size: float = SIZE) -> float:
    """Pixels that a text takes at a size in pixels."""
    return sum(map(_units, text)) * size / 1000


def _units(letter: str) -> int:
    known = _ADVANCE.get(letter)
    if known is not None:
        return known
    return WIDE if unicodedata.east_asian_width(letter) in "WF" else UNKNOWN


FEW = 8  # letters


def fitted(text: str, size: float = SIZE) -> str:
    """The attribute that holds a text to its width, whatever face it is set in; "" for a few letters, which no face makes
    much wider."""
    if len(text) <= FEW:
        return ""
    return f' textLength="{width(text, size):.0f}"'

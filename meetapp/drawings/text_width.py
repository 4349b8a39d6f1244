"""How much room words take, without a browser: widths of the widest face that our font stack can meet, bold.

Most systems' own faces are narrower, so a drawing that fits by these widths fits there too. Source: advance widths of
DejaVu Sans Bold (the `system-ui` of many Linux systems), rounded up to a hundredth of the font size.
"""

import unicodedata

_EM = {
    "'": 0.31, "ijl": 0.35, " ": 0.35, "/IJ\\|": 0.38, ",.": 0.38, ":;": 0.4, "-": 0.42, "f": 0.44, "!()[]": 0.46,
    "t": 0.48, "r": 0.5, "_`": 0.5, "\"*": 0.53, "?z": 0.59, "c": 0.6, "s": 0.6, "L": 0.64, "vxy": 0.66, "ak": 0.68,
    "EFTe": 0.69, "o": 0.69, "0123456789$": 0.7, "hnu{}": 0.72, "SYbdgpq": 0.73, "CPZ": 0.74, "B": 0.77,
    "AKRVX": 0.78, "U": 0.82, "G": 0.83, "D": 0.84, "#+<=>HN^~": 0.84, "OQ": 0.86, "&": 0.88, "w": 0.93,
    "%@M": 1.01, "m": 1.05, "W": 1.11, "–": 0.5, "−": 0.84, "…": 1.0, "·": 0.38,
}  # fmt: skip
_BY_CHARACTER = {character: em for characters, em in _EM.items() for character in characters}
_NO_LETTER = ("Mn", "Me", "Cf")
_OTHER_EM = 1.4
"""Characters that the table lacks, once taken apart: pictures of an emoji face are that wide, East Asian ones 1 em."""

MORE = "…"


def text_width(text: str, size: float) -> float:
    """How long a text is at most, in the unit of the font size.

    >>> round(text_width("5658", 10), 2), round(text_width("Ève", 10), 2) == round(text_width("Eve", 10), 2)
    (28.0, True)
    """
    return size * sum(_em(character) for character in unicodedata.normalize("NFKD", text))


def _em(character: str) -> float:
    if unicodedata.category(character) in _NO_LETTER:
        return 0
    return _BY_CHARACTER.get(character, _OTHER_EM)


def shorten(text: str, size: float, room: float) -> str:
    """The text, or as much of it as fits with three dots behind; empty where not even one letter fits.

    >>> shorten("Marguerite", 10, 100), shorten("Marguerite", 10, 50), shorten("Marguerite", 10, 5)
    ('Marguerite', 'Marg…', '')
    """
    if text_width(text, size) <= room:
        return text
    for length in range(len(text) - 1, 0, -1):
        shorter = text[:length].rstrip() + MORE
        if text_width(shorter, size) <= room:
            return shorter
    return ""

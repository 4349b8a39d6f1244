"""Cells of a CSV file that a spreadsheet must not take for a formula.

A cell that begins with = + - @, in any width and behind any space, or with a tab, a line break or a NUL, gets an
apostrophe in front; reading takes it away again. Guided by OWASP ASVS 5, requirement 1.2.10; that full-width signs
begin a formula too is from OWASP's page on CSV injection.
"""

import csv
import io
from collections.abc import Iterable, Sequence
from unicodedata import normalize

_FORMULA_SIGNS = ("=", "+", "-", "@")
_BREAKS = ("\t", "\r", "\n", "\x00")


def _is_dangerous(text: str) -> bool:
    # Apostrophes that stand there already are counted in, so that reading gives back exactly what was written.
    bare = text.lstrip("'")
    first = bare.lstrip()[:1]
    # NFKC makes one sign of all its widths (＝, ﹢, ⁻); the true minus sign keeps a code of its own.
    return bare.startswith(_BREAKS) or normalize("NFKC", first).startswith((*_FORMULA_SIGNS, "\u2212"))


def safe_cell(text: str) -> str:
    """The text as a cell that no spreadsheet runs.

    >>> safe_cell("=1+1"), safe_cell("Ana"), safe_cell("'-x")
    ("'=1+1", 'Ana', "''-x")
    """
    return f"'{text}" if _is_dangerous(text) else text


def plain_cell(cell: str) -> str:
    """The text behind a cell that `safe_cell` wrote; any other cell as it is.

    >>> plain_cell("'=1+1"), plain_cell("'tis"), plain_cell("''-x")
    ('=1+1', "'tis", "'-x")
    """
    return cell[1:] if cell.startswith("'") and _is_dangerous(cell) else cell


def csv_text(rows: Iterable[Sequence[str]]) -> str:
    """Rows as the text of a CSV file (RFC 4180), every cell safe."""
    out = io.StringIO(newline="")
    csv.writer(out).writerows([safe_cell(cell) for cell in row] for row in rows)
    return out.getvalue()

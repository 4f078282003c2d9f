"""Put headings and words of a file into plain letters, to look them up."""

from __future__ import annotations

import re
import unicodedata


def plain_words(text: str) -> str:
    """Return a text in lower case, without accents and with one blank between words.

    Args:
      text: A heading, or a word of a file: "Gebühr (EUR)" becomes "gebuehr eur".
    """
    folded = text.casefold()
    for letter, letters in (("ä", "ae"), ("ö", "oe"), ("ü", "ue"), ("ł", "l"), ("ø", "o")):
        folded = folded.replace(letter, letters)
    bare = "".join(
        char
        for char in unicodedata.normalize("NFKD", folded)
        if not unicodedata.combining(char)
    )
    return " ".join(re.findall(r"[^\W_]+", bare))

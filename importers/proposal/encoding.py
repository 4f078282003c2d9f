"""Find the encoding of a file's bytes, and what else they may be.

Marks at the beginning, NULs and sound utf-8 tell for certain. Of the older encodings,
which read nearly any byte, those are likely in which words stay words: letters of one
script, no sign within a word, no capital after a small letter.
"""

from __future__ import annotations

import codecs
import re
import unicodedata
from collections.abc import Iterator
from typing import NamedTuple

import charset_normalizer

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
# Those that spreadsheets and banks still write, the more usual ones first.
_OLDER = ("cp1252", "cp1250", "cp1251", "iso8859-15", "mac-roman", "cp850", "cp437")
_LOOKED_AT = 1 << 16
_MOST = 4
_SIGNS = frozenset("€£¥¢°§«»‹›“”„‘’‚–—…·•©®™½¼¾×ºª№¡¿\xa0")  # noqa: RUF001
_EAST_ASIAN = {"CJK", "HIRAGANA", "KATAKANA", "HANGUL", "KATAKANA-HIRAGANA", "IDEOGRAPHIC"}


class Encoding(NamedTuple):
    """An encoding that reads the bytes.

    Attributes:
      name: Its name.
      example: Words beyond ASCII as it reads them; empty where there are none.
    """

    name: str
    example: str = ""


def encodings(contents: bytes) -> list[Encoding]:
    """Return the encodings that bytes may be in, the likeliest first.

    Where there is more than one, they read the bytes as different texts.

    Args:
      contents: The beginning of a file, or all of it.
    """
    for mark, name in _MARKS:
        if contents.startswith(mark):
            return [Encoding(name)]
    if b"\0" in contents[:_LOOKED_AT]:
        return [Encoding(name) for name in _wide(contents[:_LOOKED_AT])]
    try:
        codecs.getincrementaldecoder("utf-8")().decode(contents)  # may end in a letter
    except UnicodeDecodeError:
        return _older(contents)
    return [Encoding("utf-8")]


def _wide(contents: bytes) -> Iterator[str]:
    """Yield the encoding of two bytes a letter that zeros in every other byte tell."""
    half = len(contents) // 2
    if contents[1::2].count(0) > 0.4 * half and not contents[::2].count(0):
        yield "utf-16-le"
    elif contents[::2].count(0) > 0.4 * half and not contents[1::2].count(0):
        yield "utf-16-be"


def _older(contents: bytes) -> list[Encoding]:
    """Return older encodings that read bytes as words; the usual one where none does."""
    lines = b"\n".join(line for line in contents.splitlines() if not line.isascii())
    lines = lines[:_LOOKED_AT].rpartition(b"\n")[0] or lines[:_LOOKED_AT]
    # Where most letters are of ASCII, the language is of the west, and guesses are wild.
    beyond = sum(byte > 127 for byte in lines)
    names: tuple[str, ...] = _OLDER
    if beyond > max(4, 0.45 * sum(map(_is_letter, lines))):
        guesses = (match.encoding for match in charset_normalizer.from_bytes(lines))
        names = (*(name for name in guesses if _keeps_ascii(name)), *_OLDER)
    found: dict[str, str] = {}
    for name in names:
        try:
            text = lines.decode(name)
        except UnicodeDecodeError:
            continue
        if text not in found and all(map(_is_word, _words(text))):
            found[text] = name
    likely = [Encoding(name, _example(text)) for text, name in found.items()][:_MOST]
    return likely or [Encoding("cp1252" if _decodes(lines, "cp1252") else "latin-1")]


def _keeps_ascii(name: str) -> bool:
    """Return whether an encoding writes what ASCII has as ASCII does."""
    return b"Date,1;".decode(name, "replace") == "Date,1;"


def _decodes(contents: bytes, name: str) -> bool:
    try:
        contents.decode(name)
    except UnicodeDecodeError:
        return False
    return True


def _is_letter(byte: int) -> bool:
    return byte > 127 or chr(byte).isalpha()


def _words(text: str) -> list[str]:
    """Return the different words that are not of ASCII."""
    return sorted({word for word in re.split(r"[\s,;|\"/]+", text) if not word.isascii()})


def _example(text: str) -> str:
    """Return a few of the words by which readings can be told apart."""
    words = [word for word in _words(text) if word.isprintable()]
    return " ".join(sorted(words, key=len, reverse=True)[:3])[:60]


def _is_word(word: str) -> bool:
    """Return whether a text without blanks looks like something that was typed."""
    before = ""
    scripts = set()
    for char in word:
        if char.isalpha():
            name = unicodedata.name(char, "?")
            scripts.add(name.partition(" ")[0])
            if " LIGATURE" in name and char not in "œŒ":
                return False
            if before.islower() and char.isupper() and not char.isascii():
                return False
        elif not (char.isascii() or char.isdigit()) and (
            char not in _SIGNS or (before.isalpha() and char in "£¥¢°§")
        ):
            return False
        before = char
    scripts -= {"FEMININE", "MASCULINE"}  # the ordinal signs
    return len(scripts) <= 1 or scripts <= _EAST_ASIAN

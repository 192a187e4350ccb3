"""Reading one typed line of a kit into the fields it states."""

from __future__ import annotations

import re
import unicodedata
from typing import Any

from advisor.abrasives.grits import GrainSize, GritScales
from advisor.abrasives.kit_words import KitWords, fold
from advisor.errors import InputError, OutOfRangeError, WhetruleError

_THICKNESS = re.compile(r"(?<![0-9.])([0-9]{1,4}(?:\.[0-9]{1,4})?) ?mm(?![a-z])")
_LONGEST_SIZE = 4  # words of the longest way to write a size, such as "ansi bonded 60 grit"
_COMPOUND_FIELDS = ("abrasive", "bond")


def read_line(line: str, scales: GritScales, words: KitWords) -> dict[str, Any]:
    """Return the fields a line states, with the problems found under ``errors``."""
    errors: list[WhetruleError] = []
    draft: dict[str, Any] = {}
    name, colon, rest = line.partition(":")
    if not colon:
        rest = line
    elif words.phrases.get(fold(name), (("", ""),))[0][0] == "kind":
        draft["kind"] = words.value("kind", name)
    else:
        draft["name"] = name
    body = _tidy(rest)
    thicknesses = _THICKNESS.findall(body)
    if len(thicknesses) > 1:
        errors.append(InputError("two thicknesses", field="thickness", hint="give one in mm"))
    elif thicknesses:
        draft["thickness_mm"] = float(thicknesses[0])
    _read_parts(_THICKNESS.sub(" ", body), scales, words, draft, errors)
    draft["errors"] = errors
    return draft


def read_compound(text: str, scales: GritScales, words: KitWords, errors: list[WhetruleError]) -> dict[str, Any]:
    """Return size, abrasive and bond of a strop's compound, or that it is bare.

    Raises:
        InputError: the text says something that is not about a compound.
    """
    draft: dict[str, Any] = {}
    _read_parts(_tidy(text), scales, words, draft, errors)
    stray = [field for field in draft if field not in (*_COMPOUND_FIELDS, "size", "bare")]
    if stray:
        raise InputError(f"a compound has no {stray[0]}", hint="such as 1 um diamond, or bare")
    return draft


def _tidy(text: str) -> str:
    folded = unicodedata.normalize("NFKC", text).lower().replace("μ", "u")
    folded = re.sub(r"(?<=[0-9]),(?=[0-9]{3}(?![0-9]))", "", folded)
    folded = re.sub(r"(?<=[0-9]),(?=[0-9]{1,2}(?![0-9]))", ".", folded)
    folded = re.sub(r" ?/ ?", "/", folded)
    return re.sub(r"(?<=[a-z])-(?=[a-z])", " ", folded)


def _read_parts(
    body: str, scales: GritScales, words: KitWords, draft: dict[str, Any], errors: list[WhetruleError]
) -> None:
    stated: dict[str, str] = {}
    implied: dict[str, str] = {}
    vague: list[str] = []
    for part in re.split(r"[,;()]", body):
        tokens = part.split()
        tokens = _take_size(tokens, scales, draft, errors)
        unread = _take_words(tokens, words, stated, implied, draft, errors)
        vague += [word for word in unread if word in scales.vague_words]
        errors += [
            InputError(f"cannot use the word {word[:40]!r}", hint=words.near(word))
            for word in unread
            if word not in scales.vague_words
        ]
    if vague and "size" not in draft:
        errors.append(_size_error(" ".join(vague), scales))
    for field, value in (implied | stated).items():
        if field == "kind" and draft.get("kind", value) != value and field in stated:
            errors.append(InputError(f"both {draft['kind']} and {value}", field="kind", hint="say one"))
        draft.setdefault(field, value)


def _take_size(tokens: list[str], scales: GritScales, draft: dict[str, Any], errors: list[WhetruleError]) -> list[str]:
    """Move the size in these tokens, if any, into the draft; return the tokens left."""
    while any(re.search("[0-9]", token) for token in tokens):
        found = _find_size(tokens, scales)
        if isinstance(found, WhetruleError):
            errors.append(found)
            units = dict(scales.units)
            return [token for token in tokens if not (re.search("[0-9]", token) or token in units)]
        size, start, end = found
        if "size" in draft:
            errors.append(
                InputError(
                    f"two sizes, {draft['size'].given} and {size.given}",
                    field="size",
                    hint="one line per stone; the two faces of a stone are two lines",
                )
            )
        draft["size"] = size
        tokens = tokens[:start] + tokens[end:]
    return tokens


def _find_size(tokens: list[str], scales: GritScales) -> tuple[GrainSize, int, int] | WhetruleError:
    """Return the longest run of tokens that is a size with its bounds, or why there is none."""
    failure: WhetruleError | None = None
    for length in range(min(_LONGEST_SIZE, len(tokens)), 0, -1):
        for start in range(len(tokens) - length + 1):
            text = " ".join(tokens[start : start + length])
            if not re.search("[0-9]", text):
                continue
            try:
                return scales.parse(text), start, start + length
            except OutOfRangeError as error:
                failure = failure if isinstance(failure, OutOfRangeError) else error
            except InputError as error:
                # The shortest run with a digit names the culprit best.
                failure = failure if isinstance(failure, OutOfRangeError) else error
    assert failure is not None
    return failure


def _size_error(text: str, scales: GritScales) -> WhetruleError:
    """Return why words such as 'extra fine' are not a size."""
    try:
        scales.parse(text)
    except InputError as error:
        return error
    raise AssertionError(f"{text!r} is listed as vague but names a size")


def _take_words(
    tokens: list[str],
    words: KitWords,
    stated: dict[str, str],
    implied: dict[str, str],
    draft: dict[str, Any],
    errors: list[WhetruleError],
) -> list[str]:
    """Note what the tokens say; return those that no phrase begins with."""
    unread: list[str] = []
    phrases, filling = words.phrases, dict(words.implied)
    position = 0
    while position < len(tokens):
        for length in range(min(words.longest_phrase, len(tokens) - position), 0, -1):
            phrase = " ".join(tokens[position : position + length])
            if phrase in filling:
                implied |= dict(filling[phrase])
            elif phrase in phrases:
                for field, value in phrases[phrase]:
                    if stated.setdefault(field, value) != value:
                        both = f"both {stated[field]} and {value}"
                        errors.append(InputError(both, field=field, hint="one line per item"))
            elif phrase in words.bare_words:
                draft["bare"] = True
            elif phrase not in words.ignored:
                continue
            position += length
            break
        else:
            unread.append(tokens[position])
            position += 1
    return unread

"""Words as a person types them into a search, and what they find: rows of `searchable`.

`bridge brid* "white card"`: each word is found at the beginning of words, whatever its case and accents; what stands
in quotes is found word for word in that order, and only there as whole words. All of them must be found, each of them
anywhere in what belongs to a frame. Everything else in the text is data: no operator of a search engine is obeyed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from sqlalchemy import ColumnElement, Select, Text, bindparam, cast, false, func, or_, select, text
from sqlalchemy.dialects.postgresql import TSQUERY

from storage.columns import stored
from storage.search_models import Searchable

LONGEST, MOST = 200, 12
"""Characters of one term and terms of one search that are looked at. Chosen: more than a person types."""

_TERM = re.compile(r'"([^"]*)"?|([^\s"]+)')


@dataclass(frozen=True)
class Term:
    """A word or a phrase to be found; `exact`: as whole words only."""

    words: str
    exact: bool


def terms(typed: str) -> tuple[Term, ...]:
    """The terms in what was typed; signs without a letter or a figure ask for nothing."""
    found = (
        Term((match[1] if match[1] is not None else match[2].rstrip("*"))[:LONGEST], match[1] is not None)
        for match in _TERM.finditer(typed)
    )
    return tuple(term for term in found if any(sign.isalnum() for sign in term.words))[:MOST]


def owners(sought: Term, dialect: str) -> Select[str]:
    """The keys of jobs, pieces, views, revisions and frames that the term stands in."""
    return select(Searchable.owner_id).where(_matches(sought, dialect))


def any_of(all_terms: tuple[Term, ...], dialect: str, kinds: tuple[str, ...]) -> Select[str]:
    """The same for any of the terms, of some kinds only."""
    found = or_(false(), *(_matches(term, dialect) for term in all_terms))
    return select(Searchable.owner_id).where(found, Searchable.kind.in_(kinds))


def _matches(sought: Term, dialect: str) -> ColumnElement[bool]:
    words = stored(sought.words)
    if dialect == "postgresql":
        phrase = func.phraseto_tsquery("simple", words)
        asked = phrase if sought.exact else cast(func.nullif(cast(phrase, Text), "").concat(":*"), TSQUERY)
        return func.to_tsvector("simple", Searchable.text).op("@@")(asked)
    quoted = '"' + words.replace('"', '""') + '"' + ("" if sought.exact else " *")
    found = text("SELECT rowid FROM search_index WHERE search_index MATCH :sought")
    found = found.bindparams(bindparam("sought", quoted, unique=True))
    return Searchable.searchable_id.in_(found.columns(Searchable.searchable_id))

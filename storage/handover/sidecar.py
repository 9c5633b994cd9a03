"""An XMP sidecar (ISO 16684-1) for a picture: piece and view, owner, mark, and lights.

Which kind of array a property takes is the standard's: `dc:title`, `dc:description` and `dc:rights` are alternatives by
language (`rdf:Alt`), `dc:creator` is a list in order (`rdf:Seq`), `dc:subject` a set (`rdf:Bag`); the job is
`xmpBJ:JobRef`, a set of structures, the product `ProductInImage` of the IPTC Photo Metadata Standard (Extension). What
they have no word for stands in a namespace of our own, described in docs/handover.md.

An existing sidecar is read, and its contents stay: only missing properties are added, and keywords are united.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as Tree
from dataclasses import dataclass, field
from pathlib import Path

from session.frame.states import Mark
from session.units.refusals import UnreadableTextError
from storage.handover.leaving_files import Files

RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
META = "adobe:ns:meta/"
DC = "http://purl.org/dc/elements/1.1/"
XMP = "http://ns.adobe.com/xap/1.0/"
JOB = "http://ns.adobe.com/xap/1.0/bj/"
STRUCT_JOB = "http://ns.adobe.com/xap/1.0/sType/Job#"
IPTC = "http://iptc.org/std/Iptc4xmpExt/2008-02-29/"
OWN = "urn:uuid:0d9c3f0e-6f4e-4b43-9a53-2f6a54a2b1c7#"
XML = "http://www.w3.org/XML/1998/namespace"
PREFIXES = {
    "rdf": RDF,
    "x": META,
    "dc": DC,
    "xmp": XMP,
    "xmpBJ": JOB,
    "stJob": STRUCT_JOB,
    "Iptc4xmpExt": IPTC,
    "still": OWN,
}

RATINGS = {Mark.HERO: 5, Mark.SELECT: 4, Mark.ALTERNATE: 3, Mark.KILL: -1}
"""A mark as `xmp:Rating`: from 1 to 5, -1 is rejected (ISO 16684-1, 8.3). The pairing is chosen."""

LARGEST_BYTES = 8 << 20
"""Of a sidecar that is read (B). Chosen: they have some kB."""

_NO_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that no XML 1.0 document can hold (its production 2)."""


@dataclass(frozen=True)
class SidecarFacts:
    """A sidecar's facts about a picture. `own`: name → value in our own namespace; all else by its plain name."""

    title: str
    description: str
    creator: str
    rights: str
    keywords: tuple[str, ...]
    mark: str | None
    job: str
    product: str
    article_number: str
    own: dict[str, str] = field(default_factory=dict)
    job_id: str = ""


def foreign_sidecar(files: Files) -> Path | None:
    """Another program's sidecar beside a frame's files: NAME.xmp, or NAME.EXT.xmp."""
    for _, path in files:
        for beside in (path.with_suffix(".xmp"), path.with_name(f"{path.name}.xmp"), path.with_suffix(".XMP")):
            if beside.is_file():
                return beside
    return None


def sidecar(facts: SidecarFacts, existing: bytes | None = None) -> bytes:
    """The sidecar's bytes, UTF-8. Raises UnreadableTextError where the existing file is no XMP; the file stays."""
    for prefix, uri in PREFIXES.items():
        Tree.register_namespace(prefix, uri)
    root = _read(existing) if existing is not None else Tree.Element(f"{{{META}}}xmpmeta")
    description = _description(root)
    _alternative(description, DC, "title", facts.title)
    _alternative(description, DC, "description", facts.description)
    _array(description, DC, "creator", "Seq", (facts.creator,))
    _alternative(description, DC, "rights", facts.rights)
    _array(description, DC, "subject", "Bag", facts.keywords, unite=True)
    if facts.mark is not None:
        _simple(description, XMP, "Rating", str(RATINGS[Mark(facts.mark)]))
    _job(description, facts.job, facts.job_id)
    _product(description, facts)
    for name, value in facts.own.items():
        _simple(description, OWN, name, value, always=True)
    Tree.indent(root, " ")
    head = b'<?xpacket begin="\xef\xbb\xbf" id="W5M0MpCehiHzreSzNTczkc9d"?>\n'
    written: bytes = Tree.tostring(root, encoding="utf-8")
    return head + written + b'\n<?xpacket end="w"?>\n'


def _read(existing: bytes) -> Tree.Element:
    if len(existing) > LARGEST_BYTES:
        raise UnreadableTextError(f"it has {len(existing)} bytes, a sidecar has up to {LARGEST_BYTES}")
    if re.search(rb"<!\s*(DOCTYPE|ENTITY)", existing):  # entities can grow without bounds, and a sidecar needs none
        raise UnreadableTextError(f"it declares entities: {existing[:40]!r}")
    try:
        root = Tree.fromstring(existing)
    except (Tree.ParseError, ValueError, LookupError) as error:
        raise UnreadableTextError(f"it is no XML: {error}") from None
    for one in root.iter():  # prefixes of others stay readable where the parser kept them
        if not isinstance(one.tag, str):
            raise UnreadableTextError(f"it holds what no sidecar has: {one.tag!r}")
    if root.tag == f"{{{RDF}}}RDF":
        outer = Tree.Element(f"{{{META}}}xmpmeta")
        outer.append(root)
        return outer
    if root.find(f"{{{RDF}}}RDF") is None:
        raise UnreadableTextError(f"it is no XMP: its outermost element is {root.tag!r}")
    return root


def _description(root: Tree.Element) -> Tree.Element:
    rdf = root.find(f"{{{RDF}}}RDF")
    if rdf is None:
        rdf = Tree.SubElement(root, f"{{{RDF}}}RDF")
    found = rdf.find(f"{{{RDF}}}Description")
    if found is None:
        return Tree.SubElement(rdf, f"{{{RDF}}}Description", {f"{{{RDF}}}about": ""})
    _gather(rdf, found)
    return found


def _gather(rdf: Tree.Element, first: Tree.Element) -> None:
    """Bring what further descriptions say of the same picture into the first, which says the same (ISO 16684-1, 7.4).

    Some programs write a description for each namespace. A property that the first has already stays where it is.
    """
    for other in rdf.findall(f"{{{RDF}}}Description")[1:]:
        if other.get(f"{{{RDF}}}about", "") != first.get(f"{{{RDF}}}about", ""):
            continue
        for name in [name for name in other.attrib if name != f"{{{RDF}}}about" and not _has(first, name)]:
            first.set(name, other.attrib.pop(name))
        for held in [held for held in other if not _has(first, held.tag)]:
            first.append(held)
            other.remove(held)
        if not len(other) and not set(other.attrib) - {f"{{{RDF}}}about"}:
            rdf.remove(other)


def _has(description: Tree.Element, tag: str) -> bool:
    """True where the description has the property, as an element or as an attribute."""
    return description.find(tag) is not None or tag in description.attrib


def _simple(description: Tree.Element, uri: str, name: str, value: str, *, always: bool = False) -> None:
    tag = f"{{{uri}}}{name}"
    if always:
        description.attrib.pop(tag, None)
        for old in description.findall(tag):
            description.remove(old)
    if value and not _has(description, tag):
        Tree.SubElement(description, tag).text = _xml_text(value)


def _alternative(description: Tree.Element, uri: str, name: str, value: str) -> None:
    tag = f"{{{uri}}}{name}"
    if value and not _has(description, tag):
        _fill_alternative(Tree.SubElement(description, tag), value)
    held = description.find(f"{tag}/{{{RDF}}}Alt")
    if held is not None and len(held) and all(one.get(f"{{{XML}}}lang") != "x-default" for one in held):
        default = Tree.Element(f"{{{RDF}}}li", {f"{{{XML}}}lang": "x-default"})  # comes first (ISO 16684-1, 8.2.2.4)
        default.text = held[0].text
        held.insert(0, default)


def _fill_alternative(parent: Tree.Element, value: str) -> None:
    alternatives = Tree.SubElement(parent, f"{{{RDF}}}Alt")
    Tree.SubElement(alternatives, f"{{{RDF}}}li", {f"{{{XML}}}lang": "x-default"}).text = _xml_text(value)


def _array(
    description: Tree.Element, uri: str, name: str, kind: str, values: tuple[str, ...], *, unite: bool = False
) -> None:
    tag = f"{{{uri}}}{name}"
    wanted = [_xml_text(value) for value in dict.fromkeys(values) if value]
    held = description.find(f"{tag}/{{{RDF}}}{kind}")
    if held is None:
        if not wanted or _has(description, tag):
            return
        held = Tree.SubElement(Tree.SubElement(description, tag), f"{{{RDF}}}{kind}")
    elif not unite:
        return
    known = {one.text for one in held}
    for value in wanted:
        if value not in known:
            Tree.SubElement(held, f"{{{RDF}}}li").text = value


def _structure(description: Tree.Element, uri: str, name: str) -> Tree.Element | None:
    """A new structure in a set that the description lacks; None where the description has the set."""
    if _has(description, f"{{{uri}}}{name}"):
        return None
    bag = Tree.SubElement(Tree.SubElement(description, f"{{{uri}}}{name}"), f"{{{RDF}}}Bag")
    return Tree.SubElement(bag, f"{{{RDF}}}li", {f"{{{RDF}}}parseType": "Resource"})


def _job(description: Tree.Element, job: str, job_id: str) -> None:
    structure = _structure(description, JOB, "JobRef") if job else None
    if structure is None:
        return
    Tree.SubElement(structure, f"{{{STRUCT_JOB}}}name").text = _xml_text(job)
    if job_id:
        Tree.SubElement(structure, f"{{{STRUCT_JOB}}}id").text = _xml_text(job_id)


def _product(description: Tree.Element, facts: SidecarFacts) -> None:
    structure = _structure(description, IPTC, "ProductInImage") if facts.product else None
    if structure is None:
        return
    _fill_alternative(Tree.SubElement(structure, f"{{{IPTC}}}ProductName"), facts.product)
    if facts.article_number:
        Tree.SubElement(structure, f"{{{IPTC}}}ProductId").text = _xml_text(facts.article_number)


def _xml_text(text: str) -> str:
    """The text with U+FFFD for each character that XML can't hold; the ends of lines as XML reads them."""
    return _NO_XML.sub("\ufffd", text).replace("\r\n", "\n").replace("\r", "\n")

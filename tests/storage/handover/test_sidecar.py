"""XMP sidecars, read back by another library, rdflib: fields, kinds of arrays, and what others wrote beside them."""

from __future__ import annotations

import xml.etree.ElementTree as Tree
from dataclasses import replace

import pytest
from rdflib import RDF, BNode, Graph, Literal, URIRef
from rdflib.term import Node

from session.units.refusals import UnreadableTextError
from storage.handover.sidecar import DC, IPTC, JOB, OWN, STRUCT_JOB, XMP, SidecarFacts, sidecar
from tests.support.hostile_texts import mixtures

HOSTILE = mixtures(200, 18)

FACTS = SidecarFacts(
    title="ring 1, front",
    description="a note\nof two lines",
    creator="A. Photographer",
    rights="one year, web",
    keywords=("ring 1", "front", "ring 1"),
    mark="hero",
    job="spring line",
    job_id="J-1",
    product="ring 1",
    article_number="A-101",
    own={"setup": "07.3", "lights": "key 1/4 (−2 EV)"},
)

FOREIGN = b"""<?xpacket begin='\xef\xbb\xbf' id='W5M0MpCehiHzreSzNTczkc9d'?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/"
  xmlns:other="urn:x-invented:other#" xmp:Rating="2" other:setting="7">
 <dc:subject><rdf:Bag><rdf:li>theirs</rdf:li></rdf:Bag></dc:subject>
 <dc:title><rdf:Alt><rdf:li xml:lang="x-default">their title</rdf:li></rdf:Alt></dc:title>
 <other:curve><rdf:Seq><rdf:li>0, 0</rdf:li><rdf:li>255, 255</rdf:li></rdf:Seq></other:curve>
</rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end='w'?>"""


def graph(data: bytes) -> Graph:
    """The RDF inside the packet; its subject is the picture, ""."""
    rdf = Tree.fromstring(data).find(f"{{{RDF}}}RDF")
    assert rdf is not None
    return Graph().parse(data=Tree.tostring(rdf), format="xml", publicID="urn:x-picture")


PICTURE = URIRef("urn:x-picture")


def array(found: Graph, uri: str, name: str) -> tuple[str, list[str]]:
    """Kind of an array, and its members in their order."""
    node = found.value(PICTURE, URIRef(uri + name))
    assert isinstance(node, BNode), f"{name} is no array"
    kind = str(found.value(node, RDF.type)).removeprefix(str(RDF))
    return kind, [str(one) for one in members(found, node)]


def members(found: Graph, node: Node) -> list[Node]:
    told = [(str(name), one) for name, one in found.predicate_objects(node) if str(name).startswith(f"{RDF}_")]
    numbered = [(int(name.rpartition("_")[2]), one) for name, one in told]
    return [one for _, one in sorted(numbered)]


def test_every_field_is_read_back_as_the_kind_that_the_standard_says() -> None:
    found = graph(sidecar(FACTS))
    assert array(found, DC, "title") == ("Alt", ["ring 1, front"])
    assert array(found, DC, "description") == ("Alt", ["a note\nof two lines"])
    assert array(found, DC, "rights") == ("Alt", ["one year, web"])
    assert array(found, DC, "creator") == ("Seq", ["A. Photographer"])
    assert array(found, DC, "subject") == ("Bag", ["ring 1", "front"])
    assert found.value(PICTURE, URIRef(XMP + "Rating")) == Literal("5")
    title = members(found, found.value(PICTURE, URIRef(DC + "title")) or BNode())[0]
    assert isinstance(title, Literal) and title.language == "x-default"
    (job,) = members(found, found.value(PICTURE, URIRef(JOB + "JobRef")) or BNode())
    assert str(found.value(job, URIRef(STRUCT_JOB + "name"))) == "spring line"
    assert str(found.value(job, URIRef(STRUCT_JOB + "id"))) == "J-1"
    bag = found.value(PICTURE, URIRef(IPTC + "ProductInImage"))
    assert found.value(bag, RDF.type) == RDF.Bag
    (product,) = members(found, bag or BNode())
    assert str(found.value(product, URIRef(IPTC + "ProductId"))) == "A-101"
    name = found.value(product, URIRef(IPTC + "ProductName"))
    assert found.value(name, RDF.type) == RDF.Alt and [str(one) for one in members(found, name or BNode())] == [
        "ring 1"
    ]
    assert str(found.value(PICTURE, URIRef(OWN + "setup"))) == "07.3"
    assert str(found.value(PICTURE, URIRef(OWN + "lights"))) == "key 1/4 (−2 EV)"


def test_what_others_wrote_stays_and_only_what_lacks_is_added() -> None:
    found = graph(sidecar(FACTS, FOREIGN))
    other = "urn:x-invented:other#"
    assert str(found.value(PICTURE, URIRef(other + "setting"))) == "7"
    assert array(found, other, "curve") == ("Seq", ["0, 0", "255, 255"])
    assert [str(one) for one in found.objects(PICTURE, URIRef(XMP + "Rating"))] == ["2"]
    assert array(found, DC, "title") == ("Alt", ["their title"])
    assert array(found, DC, "subject") == ("Bag", ["theirs", "ring 1", "front"])
    assert array(found, DC, "creator") == ("Seq", ["A. Photographer"])


SEVERAL = b"""<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:other="urn:x-invented:other#" other:setting="7"/>
<rdf:Description rdf:about="" xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmp:Rating="2"/>
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/">
 <dc:subject><rdf:Bag><rdf:li>theirs</rdf:li></rdf:Bag></dc:subject>
 <dc:title><rdf:Alt><rdf:li xml:lang="x-default">their title</rdf:li></rdf:Alt></dc:title>
</rdf:Description>
<rdf:Description rdf:about="urn:x-another"><other:setting xmlns:other="urn:x-invented:other#">9</other:setting>
</rdf:Description></rdf:RDF>"""


def test_what_others_wrote_in_several_descriptions_is_said_once_and_stays() -> None:
    found = graph(sidecar(FACTS, SEVERAL))
    assert [str(one) for one in found.objects(PICTURE, URIRef(XMP + "Rating"))] == ["2"]
    assert len(list(found.objects(PICTURE, URIRef(DC + "title")))) == 1
    assert array(found, DC, "title") == ("Alt", ["their title"])
    assert array(found, DC, "subject") == ("Bag", ["theirs", "ring 1", "front"])
    assert [str(one) for one in found.objects(PICTURE, URIRef("urn:x-invented:other#setting"))] == ["7"]
    assert [str(one) for one in found.objects(URIRef("urn:x-another"), URIRef("urn:x-invented:other#setting"))] == ["9"]


def test_a_title_in_one_language_alone_is_the_default_too() -> None:
    """ISO 16684-1: the default of alternatives by language is marked x-default, and stands first."""
    told = FOREIGN.replace(b'xml:lang="x-default">their title', b'xml:lang="de">ihr Titel')
    assert b"ihr Titel" in told
    found = graph(sidecar(FACTS, told))
    titles = members(found, found.value(PICTURE, URIRef(DC + "title")) or BNode())
    assert [(str(one), one.language) for one in titles if isinstance(one, Literal)] == [
        ("ihr Titel", "x-default"),
        ("ihr Titel", "de"),
    ]


def test_a_sidecar_of_our_own_that_is_merged_again_stays_as_it_is() -> None:
    once = sidecar(FACTS)
    assert sidecar(FACTS, once) == once


def shown(char: str) -> str:
    """What XML 1.0 takes (production 2), else U+FFFD."""
    held = char in "\t\n\r" or " " <= char < "\ud800" or "\ue000" <= char <= "\ufffd" or char > "\uffff"
    return char if held else "\ufffd"


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_any_text_is_read_back_or_shown_as_a_sign_that_it_could_not_stand(text: str) -> None:
    found = graph(sidecar(replace(FACTS, title=text, creator=text, keywords=(text, "x"), own={"view": text})))
    expected = "".join(map(shown, text)).replace("\r\n", "\n").replace("\r", "\n")
    assert array(found, DC, "subject") == ("Bag", [expected, "x"] if text else ["x"])
    if text:
        assert array(found, DC, "title") == ("Alt", [expected])
        assert array(found, DC, "creator") == ("Seq", [expected])
        assert str(found.value(PICTURE, URIRef(OWN + "view"))) == expected


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"<",
        b"no xml",
        b"<a/>",
        b"\xff\xfe",
        FOREIGN[:-120],
        b'<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>',
        b"<x>" * 10_000,
    ],
)
def test_what_is_no_xmp_is_refused(data: bytes) -> None:
    with pytest.raises(UnreadableTextError):
        sidecar(FACTS, data)

"""Everything that is cited, once each, with where it is used: read from code, rules, materials and tests."""

from __future__ import annotations

import ast
import re
import tokenize
from collections.abc import Iterator
from dataclasses import dataclass
from io import StringIO
from itertools import groupby
from pathlib import Path

from boostcarb.description.material import NO_SOURCE, shipped_material, shipped_materials
from boostcarb.manual.markdown import code, item, plain
from boostcarb.physics.evaporation import ETHANOL_VAPOR, METHANOL_VAPOR
from boostcarb.physics.fuels import ETHANOL, GASOLINE, METHANOL
from boostcarb.rulebook.loading import shipped_rules

ROOT = Path(__file__).parents[2]
HEAD = """\
# Sources

Everything that is cited, once each, and where it is used: by the laws, the fuels, the rules, the materials, the tests.

*From memory* says that a source was recalled and not looked up; *abstract* that only its abstract was read. What is
*common practice, no source* is the trade's habit, and is said to be so. Titles stand as in the files that cite them."""
FOOT = "This page is made from code, data and tests by `python -m boostcarb.manual.generated`."
PRACTICE = "common practice, no source"
REFERENCE = re.compile(r"^\s*\d+\. (?P<text>.*?)(?=^\s*\d+\. |\Z)", re.MULTILINE | re.DOTALL)
PLACE = re.compile(r"(?:, (?=(?:sections?|equations?|chapters?|figures?|tables?|examples?|appendix|scope)\b)| (?=\())")
"""Where the title of a work ends and the place in it, or a remark on it, begins."""
POINTER = re.compile(r"Those of |As the |Derivative of ")
"""References that only point to others."""
TOLERANCE = re.compile(r"\s*(?:Tolerance|Trap|Tolerances)\b.*", re.DOTALL)
SECOND = re.compile(r"(?<!^)(?=(?:Source|Oracle)s?(?: \(see each test\))?: )")
SAID = re.compile(r"(?:Source(?: of the range)?|Reference): (?:\[\d\] )?(.*?)\.?\s*(?=\n\n|Raises|>>>|\Z)", re.DOTALL)
UNIT = re.compile(r"_(?:kg_m3|j_kg_k|j_kg|pa_s)$")


@dataclass(frozen=True, order=True, slots=True)
class Citation:
    """A work, the place in it or a remark, and what uses it."""

    work: str
    place: str
    user: str


def sources_page() -> str:
    """The whole page. Raises: OSError outside a checkout, which has the tests."""
    parts = (
        ("Laws and constants", "Cited where a law or a constant is written down.", _in_code()),
        ("Fuels", "Values of the fuels that have a name.", _of_fuels()),
        ("Rules", "What a rule rests on, as its `basis` says.", _of_rules()),
        ("Materials", "Who says what a fuel does to a material; `boostcarb materials NAME` shows each rating.",
         _of_materials()),
        ("Checks", "What the tests compare results with: published values, worked examples, other libraries.",
         _of_tests()),
    )  # fmt: skip
    lines = [HEAD]
    for title, about, citations in parts:
        lines += ["", f"## {title}", "", about, "", *_listed(citations)]
    return "\n".join([*lines, "", FOOT]) + "\n"


def _listed(citations: Iterator[Citation]) -> Iterator[str]:
    """One item a work; where several places in it are cited, one line each below it."""
    for work, of_work in groupby(sorted(set(citations)), key=lambda each: each.work):
        places = {place: [each.user for each in users] for place, users in groupby(of_work, key=lambda e: e.place)}
        if len(places) == 1:
            ((place, users),) = places.items()
            yield item(f"{plain(_joined(work, place))}: {', '.join(users)}")
            continue
        yield item(f"{plain(work)}:")
        for place, users in places.items():
            yield item(f"{plain(place) or 'as a whole'}: {', '.join(users)}", depth=1)


def _joined(work: str, place: str) -> str:
    return f"{work}{' ' if place.startswith('(') else ', '}{place}" if place else work


def _citation(text: str, user: str) -> Citation:
    whole = re.sub(r":\w+:(`[^`]*`)", r"\1", " ".join(text.split())).rstrip(". ")
    found = PLACE.search(whole)
    return Citation(whole[: found.start()], whole[found.end() :], user) if found else Citation(whole, "", user)


# --- code ---------------------------------------------------------------------------------------------------


def _in_code() -> Iterator[Citation]:
    for path in sorted((ROOT / "boostcarb").rglob("*.py")):
        module = str(path.relative_to(ROOT))
        for name, text in _texts(ast.parse(path.read_text(encoding="utf-8"))):
            user = code(f"{module}: {name}" if name else module)
            yield from (_citation(each, user) for each in _cited(text) if not POINTER.match(each))


def _texts(module: ast.Module) -> Iterator[tuple[str, str]]:
    """Every text that documents something, with the name of it; that of the module has none."""
    for owner in ast.walk(module):
        if not isinstance(owner, ast.Module | ast.ClassDef | ast.FunctionDef):
            continue
        name = "" if isinstance(owner, ast.Module) else owner.name
        for before, node in zip([None, *owner.body], owner.body, strict=False):
            value = node.value if isinstance(node, ast.Expr) else None
            if isinstance(value, ast.Constant) and isinstance(value.value, str):
                target = before.target if isinstance(before, ast.AnnAssign) else None
                yield (target.id if isinstance(target, ast.Name) else name), value.value


def _cited(text: str) -> Iterator[str]:
    """What a text cites: its numbered references, or what follows the word Source."""
    head, _, references = text.partition("References:")
    if references:
        listed = references.partition("\n\n")[0]
        yield from (found["text"] for found in REFERENCE.finditer(listed))
    yield from (found[1] for found in SAID.finditer(head))


# --- data ---------------------------------------------------------------------------------------------------


def _of_fuels() -> Iterator[Citation]:
    for fuel in (GASOLINE, ETHANOL, METHANOL):
        for value, source in fuel.sources.items():
            what = UNIT.sub("", value).replace("_", " ")
            yield Citation(f"{source.text} ({source.status})", "", f"{what} of {fuel.name}")
    for name, curve in (("ethanol", ETHANOL_VAPOR), ("methanol", METHANOL_VAPOR)):
        yield Citation(curve.source, "", f"vapor pressure of {name}")


def _of_rules() -> Iterator[Citation]:
    for rule in shipped_rules():
        user = f"[{rule.id}](rulebook.md#{rule.id})"
        yield Citation(rule.basis.reference or PRACTICE, "", user)


def _of_materials() -> Iterator[Citation]:
    for name in shipped_materials():
        for rating in shipped_material(name).ratings:
            yield Citation(PRACTICE if rating.source == NO_SOURCE else rating.source, "", code(name))


# --- tests --------------------------------------------------------------------------------------------------


def _of_tests() -> Iterator[Citation]:
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        text = path.read_text(encoding="utf-8")
        user = code(str(path.relative_to(ROOT)))
        for said in (*_comments(text), *(each for _, each in _texts(ast.parse(text)))):
            for part in SECOND.split(said):
                found = re.match(r"(?:Source|Oracle)s?(?: \(see each test\))?: (.*)", part, re.DOTALL)
                if found:
                    yield Citation(" ".join(TOLERANCE.sub("", found[1]).split()).rstrip("."), "", user)


def _comments(text: str) -> Iterator[str]:
    """Comments of a module, those on following lines as one."""
    block, last = "", -1
    for token in tokenize.generate_tokens(StringIO(text).readline):
        if token.type == tokenize.COMMENT:
            said = token.string.lstrip("# ")
            if token.start[0] != last + 1:
                yield block
                block = said
            else:
                block = f"{block} {said}"
            last = token.start[0]
    yield block

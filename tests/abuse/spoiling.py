"""Job, family, rule and material files spoiled in every way that a person, a program or a bad disk could manage.

As a script a campaign of any length, each command of the program on each spoiled file, in this process:

    python tests/abuse/spoiling.py --seconds 600 --seed 1

It prints how often each command ran with which exit code, and every case that did what no command may do. Such a case
is kept in a folder with what it said.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import yaml

ROOT = Path(__file__).parents[2]
DESCRIPTION = ROOT / "boostcarb" / "description"
MARKUP = "</script></style></title>--><img src=x onerror=alert(1)><svg onload=alert(1)>\"'><b onclick=x>&lt;`${x}"
"""Breaks out of every place in a page that forgets to escape."""
SHORT_MARKUP = "</script><img src=x onerror=alert(1)>"

WORDS: tuple[str, ...] = (
    "", " ", "~", "null", "true", "NO", "0", "-1", "1e999", "0x10", "1_000", "12:30:45", "2026-01-01", "=", "<<", "*a",
    "nan", "inf", "-inf", ".nan", ".inf", "nan mm", "inf psi", "1e308 mm", "-1e308 kPa gauge", "1e-320 mm", "-3 mm",
    "0 mm", "5", "5 parsec", "5 l", "18 inHg", "8 psi gauge", "8 psi vacuum", "3 1/2 in", "1/0 in", "0/0 in", "#80",
    "9" * 400, "9" * 400 + " mm", "1." + "0" * 300 + "1 mm", "５ mm", "٣ mm", "5 ｍｍ", "5mm5mm", "5 mm mm", "--5 mm",
    "naturally_aspirated", "draw_through", "blow_through", "methanol", "custom", "as built", "not looked at", "plugged",
    "open", "absent", "removed", "{group}", "{0}", "{group.__class__}", "%s%n", "$(id)", "../../etc/passwd",
    "/dev/zero",
    "a.b.c", ".", "..", "*", "*.bowl", "[", "primary", "primary.bowl", "atmosphere", "Über", "é", "\u202egnp", "\u200b",
    "\u2028", "\ufeff", "☃", "👩‍🔧", "ﬀ", "İ", MARKUP, "x" * 5000, "a " * 3000, "a." * 500, "\t",
    "\x85", "-", ": ", "# x",
)  # fmt: skip
NUMBERS: tuple[Any, ...] = (
    0, -0.0, -1, 1, 2, 3, 12, 1e-300, 5e-324, 1e300, -1e300, 10**18, 2**63, 2**64, -(2**63), 10**30, 0.1, 1 / 3, 1e6,
    float("nan"), float("inf"), float("-inf"), True, False, None,
)  # fmt: skip

Steps = tuple[Any, ...]


@dataclass(frozen=True)
class Kind:
    """One kind of file: what is shipped of it, and the folder of `--data` in which it is found."""

    name: str
    shipped: tuple[Path, ...]
    home: str | None


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("job", tuple(sorted((ROOT / "scenarios").glob("*.yaml"))), None),
        Kind("family", tuple(sorted((DESCRIPTION / "families").glob("*.yaml"))), "families"),
        Kind("rule", tuple(sorted((ROOT / "rules").glob("*.yaml"))), "rules"),
        Kind("example", tuple(sorted((ROOT / "rules" / "examples").glob("*.yaml"))), "rules/examples"),
        Kind("material", tuple(sorted((DESCRIPTION / "materials").glob("*.yaml"))), "materials"),
    )
}


@cache
def loaded(path: Path) -> str:
    """The text of a shipped file."""
    return path.read_text(encoding="utf-8")


def nodes(tree: Any, above: Steps = ()) -> list[Steps]:
    """The path of every value below the top."""
    inside = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    return [path for key, value in inside for path in ((*above, key), *nodes(value, (*above, key)))]


def holder(tree: Any, path: Steps) -> Any:
    """The mapping or list that a value stands in."""
    for step in path[:-1]:
        tree = tree[step]
    return tree


def at(tree: Any, path: Steps) -> Any:
    """The value at a path."""
    return holder(tree, path)[path[-1]]


def odd_value(chance: random.Random, depth: int = 0) -> Any:
    """Something that nobody expects."""
    pick = chance.randrange(10)
    if pick < 5 or depth > 2:
        return chance.choice(WORDS)
    if pick < 8:
        return chance.choice(NUMBERS)
    if pick == 8:
        return [odd_value(chance, depth + 1) for _ in range(chance.choice((0, 1, 2, 30)))]
    return {chance.choice(WORDS): odd_value(chance, depth + 1) for _ in range(chance.choice((0, 1, 3)))}


# Each takes a tree and changes one thing in it.


def drop(tree: Any, chance: random.Random) -> None:
    path = chance.choice(nodes(tree))
    del holder(tree, path)[path[-1]]


def retype(tree: Any, chance: random.Random) -> None:
    path = chance.choice(nodes(tree))
    value = at(tree, path)
    named = {str(value)[:50]: value}
    others = ([value], {"is": value}, named, str(value), [], {}, None, True, 0, [[value]], [value, value])
    holder(tree, path)[path[-1]] = chance.choice(others)


def odd(tree: Any, chance: random.Random) -> None:
    path = chance.choice([path for path in nodes(tree) if not isinstance(at(tree, path), dict | list)] or nodes(tree))
    holder(tree, path)[path[-1]] = odd_value(chance)


def swap(tree: Any, chance: random.Random) -> None:
    """The value of one place in another: a right word where it is wrong."""
    paths = nodes(tree)
    one, other = chance.choice(paths), chance.choice(paths)
    if one[: len(other)] != other and other[: len(one)] != one:
        here, there = at(tree, one), at(tree, other)
        holder(tree, one)[one[-1]], holder(tree, other)[other[-1]] = there, here


def copied(tree: Any, chance: random.Random) -> None:
    """The value of one place also in another, perhaps inside itself."""
    paths = nodes(tree)
    one, other = chance.choice(paths), chance.choice(paths)
    value = yaml.safe_load(yaml.safe_dump(at(tree, one)))
    holder(tree, other)[other[-1]] = value


def renamed(tree: Any, chance: random.Random) -> None:
    paths = [path for path in nodes(tree) if isinstance(path[-1], str)]
    path = chance.choice(paths)
    mapping = holder(tree, path)
    old = path[-1]
    name = chance.choice((*WORDS, old + "x", old.upper(), old.replace("_", " "), chance.choice(paths)[-1]))
    mapping[name] = mapping.pop(path[-1])


def added(tree: Any, chance: random.Random) -> None:
    path = chance.choice([(), *(path for path in nodes(tree) if isinstance(at(tree, path), dict))])
    mapping = at(tree, path) if path else tree
    names = [each[-1] for each in nodes(tree) if isinstance(each[-1], str)]
    mapping[chance.choice([*WORDS, *names])] = odd_value(chance)


def unit(tree: Any, chance: random.Random) -> None:
    """A number or its unit changed where there is one."""
    paths = [path for path in nodes(tree) if isinstance(at(tree, path), str) and at(tree, path)[:1].isdigit()]
    if not paths:
        return odd(tree, chance)
    path = chance.choice(paths)
    number, _, rest = at(tree, path).partition(" ")
    units = ("mm", "kPa", "psi", "inHg vacuum", "kPa abs", "psi gauge", "rpm", "l", "cfm", "g", "°F", "parsec", "")
    numbers = (number, f"-{number}", f"{number}e9", f"{number}e-9", "0", number * 2, "nan", "1e400", number[:-1])
    pair = (chance.choice(numbers), rest) if chance.random() < 0.6 else (number, chance.choice(units))
    holder(tree, path)[path[-1]] = " ".join(pair).strip()
    return None


def hostile_names(tree: Any, chance: random.Random) -> None:
    """Markup in every text that may hold any; titles may not be long."""
    for path in nodes(tree):
        if path[-1] in ("title", "job", "note", "notes", "why", "remedy", "how", "parts", "source", "looks", "look"):
            value = at(tree, path)
            if isinstance(value, str):
                holder(tree, path)[path[-1]] = f"{value[:20]} {SHORT_MARKUP}"


TREES: tuple[Callable[[Any, random.Random], None], ...] = (
    drop, drop, retype, retype, odd, odd, odd, swap, copied, renamed, added, unit, unit, unit, hostile_names,
)  # fmt: skip


# Each takes a text and gives another, or bytes.


def line_of(text: str, chance: random.Random) -> tuple[list[str], int]:
    lines = text.split("\n")
    return lines, chance.randrange(len(lines))


def with_line(change: Callable[[str, random.Random], str]) -> Callable[[str, random.Random], str]:
    def changed(text: str, chance: random.Random) -> str:
        lines, index = line_of(text, chance)
        lines[index] = change(lines[index], chance)
        return "\n".join(lines)

    return changed


def inserted(line: str, chance: random.Random) -> str:
    marks = "\0\x07\x1b\x7f\x85\u2028\u202e\u2066\u200f\ufeff\ufffe👩😀\t:#-?&*!|>%@`'\"{}[],~=<"
    place = chance.randrange(len(line) + 1)
    return line[:place] + chance.choice(marks) + line[place:]


def bomb(text: str, chance: random.Random) -> str:
    """Each label ten times the one before: 10^9 values if they were followed."""
    levels = "".join(f"l{n}: &l{n} [{', '.join([f'*l{n - 1}'] * 10)}]\n" for n in range(1, 10))
    return f"l0: &l0 [{', '.join(['x'] * 10)}]\n{levels}{text}"


def deep(text: str, chance: random.Random) -> str:
    many = chance.choice((20, 31, 33, 200, 5000))
    shape = chance.choice(("flow", "braces", "block", "dashes"))
    if shape == "block":
        return text + "\n" + "".join(f"{' ' * n}k{n}:\n" for n in range(min(many, 900)))
    if shape == "dashes":
        return text + "\nd: \n " + "- " * many + "x\n"
    inner = "[" * many + "]" * many if shape == "flow" else "{a: " * many + "1" + "}" * many
    return f"{text}\ndeep: {inner}\n"


MARKS = ("!!str", "!!binary", "!x", "&a", "*a", "|", ">")
OUTSIDE = ("../../../../etc/passwd", "/etc/hostname", ".", "/dev/zero", "~", "x" * 300)
TEXTS: tuple[Callable[[str, random.Random], str | bytes], ...] = (
    with_line(lambda line, chance: ""),
    with_line(lambda line, chance: f"{line}\n{line}"),
    with_line(lambda line, chance: f" {line}"),
    with_line(lambda line, chance: line.lstrip()),
    with_line(lambda line, chance: f"\t{line}"),
    with_line(inserted),
    with_line(inserted),
    with_line(lambda line, chance: line.replace(": ", ": !!python/object/apply:os.system ", 1)),
    with_line(lambda line, chance: line.replace(": ", f": {chance.choice(MARKS)} ", 1)),
    with_line(lambda line, chance: line.replace(": ", ": " + "y" * chance.choice((2000, 200_000)), 1)),
    with_line(lambda line, chance: "k" * chance.choice((200, 1100, 70_000)) + f": 1\n{line}"),
    with_line(lambda line, chance: f"<<: {{a: 1}}\n{line}"),
    with_line(lambda line, chance: f"? [a, b]\n: 1\n{line}"),
    with_line(lambda line, chance: f"{line}\n---\n{line}"),
    with_line(lambda line, chance: f"%YAML 9.9\n{line}"),
    lambda text, chance: text.replace("\n", "\r\n"),
    lambda text, chance: text.replace("\n", "\r"),
    lambda text, chance: text.replace("\n", "\x85", 3),
    lambda text, chance: text[: chance.randrange(len(text) + 1)],
    lambda text, chance: "".join(chance.choices(text, k=min(len(text), 400))),
    bomb,
    deep,
    lambda text, chance: f"include: {chance.choice(WORDS)!r}\n{text}",
    lambda text, chance: f"include: [{chance.choice(OUTSIDE)}]\n{text}",
    lambda text, chance: text.encode("utf-16"),
    lambda text, chance: text.encode("utf-16-be"),
    lambda text, chance: text.encode("utf-32"),
    lambda text, chance: b"\xef\xbb\xbf" * chance.choice((1, 2)) + text.encode(),
    lambda text, chance: (text + "# caf\xe9").encode("latin-1", "replace"),
    lambda text, chance: text.encode() + b"\nx: \xed\xa0\x80\n",
    lambda text, chance: text.encode() + b'\nx: "\\ud800 \\uD83D\\uDE00 \\0 \\e"\n',
    lambda text, chance: text.encode().replace(b" ", b"\0", chance.choice((1, 1000))),
    lambda text, chance: b"" if chance.random() < 0.5 else b"\n\n# nothing\n",
    lambda text, chance: text.encode() + b"# " + b"z" * 10 * 1024 * 1024,
    lambda text, chance: flipped(text.encode(), chance),
)  # fmt: skip


def flipped(raw: bytes, chance: random.Random) -> bytes:
    changed = bytearray(raw)
    for _ in range(chance.choice((1, 3, 20))):
        changed[chance.randrange(len(changed))] = chance.randrange(256)
    return bytes(changed)


class _Dumper(yaml.SafeDumper):
    """Writes shared values out: what is read back has no labels."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def spoiled(text: str, chance: random.Random) -> bytes:
    """A file spoiled in one to three ways: mostly what it says, sometimes how it is written."""
    if chance.random() < 0.65:
        tree = yaml.safe_load(text)
        for _ in range(chance.choice((1, 1, 1, 2, 3))):
            if nodes(tree):
                chance.choice(TREES)(tree, chance)
        text = yaml.dump(tree, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=110)
        if chance.random() < 0.85:
            return text.encode("utf-8", "surrogatepass")
    written = chance.choice(TEXTS)(text, chance)
    return written if isinstance(written, bytes) else written.encode("utf-8", "surrogatepass")


# --- The campaign -----------------------------------------------------------------------------------------


@dataclass
class Campaign:
    """What has been tried, and what went wrong."""

    seed: int
    kept: Path
    codes: Counter[tuple[str, int]] = field(default_factory=Counter)
    slowest: dict[str, float] = field(default_factory=dict)
    wrong: Counter[str] = field(default_factory=Counter)

    def run(self, seconds: float, kinds: Sequence[str], *, heavy: float = 0.1) -> None:
        """Spoil and try until the time, in seconds, is over. `heavy`: how often a slow command may take part."""
        from abused import Misdeed, arguments_for, attempted

        end, number = time.monotonic() + seconds, 0
        with tempfile.TemporaryDirectory() as name:
            while time.monotonic() < end:
                number += 1
                chance = random.Random(f"{self.seed}/{number}")
                kind = KINDS[chance.choice(kinds)]
                content = spoiled(loaded(chance.choice(kind.shipped)), chance)
                folder = Path(name) / str(number)
                arguments = arguments_for(kind, content, folder, chance, heavy=heavy)
                try:
                    said = attempted(arguments, folder)
                except Misdeed as misdeed:
                    self._keep(number, arguments, content, misdeed)
                else:
                    self.codes[arguments[0], said.code] += 1
                    self.slowest[arguments[0]] = max(self.slowest.get(arguments[0], 0), said.seconds)

    def _keep(self, number: int, arguments: Sequence[str], content: bytes, misdeed: Exception) -> None:
        first = str(misdeed).strip().splitlines()
        self.wrong[f"{first[0][:200]} ... {first[-1][:200]}"] += 1
        self.kept.mkdir(parents=True, exist_ok=True)
        (self.kept / f"{self.seed}_{number}.yaml").write_bytes(content)
        (self.kept / f"{self.seed}_{number}.txt").write_text(f"{' '.join(arguments)}\n\n{misdeed}\n", encoding="utf-8")
        print(f"{number}: {' '.join(arguments)}: {first[0]} ... {first[-1]}", flush=True)


def main() -> int:
    """Run a campaign and print what came of it."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", maxsplit=1)[0])
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kind", choices=sorted(KINDS), action="append", help="only files of this kind")
    parser.add_argument("--heavy", type=float, default=0.1, help="how often slow commands take part, 0 to 1")
    kept = Path(tempfile.gettempdir()) / "spoiled"
    parser.add_argument("--keep", type=Path, default=kept, help="folder for findings")
    given = parser.parse_args()
    campaign = Campaign(given.seed, given.keep)
    before = time.process_time()
    campaign.run(given.seconds, given.kind or sorted(KINDS), heavy=given.heavy)
    for (command, code), times in sorted(campaign.codes.items()):
        print(f"{command:10} exit code {code}: {times:6}, slowest {campaign.slowest[command]:.1f} s of this process")
    wrong = sum(campaign.wrong.values())
    tried = sum(campaign.codes.values()) + wrong
    print(f"{tried} commands in {time.process_time() - before:.0f} s of this process, {wrong} wrong")
    for what, times in campaign.wrong.most_common():
        print(f"{times:6} {what}")
    return 1 if campaign.wrong else 0


if __name__ == "__main__":
    sys.exit(main())

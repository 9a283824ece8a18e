"""What is not there until something fails: tears, hoses off, valves that stick, as items that are all sound.

With these items a single fault is one item in another form, so that everything that is known of configurations -
pressures, paths, rules, what a space holds - holds for faults as well.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from boostcarb.network.model import AMBIENT, BOX, LATENT, SOUND, TORN, Diaphragm, Form, Item, Network, Way

TEAR, HOSE, VALVE = ".tear", ".hose", ".one_way"
OFF, PINCHED = "off", "pinched"
WORKS, LEAKS, STUCK_SHUT, TURNED = "works", "leaks", "stuck_shut", "turned_round"

TEAR_AREA_M2 = 0.6 * math.pi / 4 * 3.5e-3**2
"""Effective area of a tear: like a hole of 3.5 mm (assumption; what matters is where it leads, not how fast)."""

RUPTURE = "rupture"


@dataclass(frozen=True, slots=True)
class _Latent:
    item: Item
    instead: dict[str, Way]
    added: tuple[Way, ...] = ()


def with_latent(network: Network) -> Network:
    """The same network with everything that can fail on its own; as it comes, all of it is sound."""
    diaphragms = {
        name: each if each.leak else replace(each, tear=name + TEAR) for name, each in network.diaphragms.items()
    }
    latent = [
        *(_tear(network, each) for each in network.diaphragms.values() if not each.leak),
        *_hoses(network),
        *_one_way_valves(network),
    ]
    ways = {way.name: way for way in network.ways}
    for each in latent:
        ways.update(each.instead)
        ways.update({way.name: way for way in each.added})
    ordered = tuple(ways[name] for name in sorted(ways))
    return replace(
        network,
        ways=ordered,
        diaphragms=diaphragms,
        items=dict(sorted({**network.items, **{each.item.name: each.item for each in latent}}.items())),
        ways_of={name: tuple(way for way in ordered if name in (way.a, way.b)) for name in network.spaces},
    )


def _item(name: str, title: str, forms: dict[str, str], like: Item | None, network: Network) -> Item:
    """An item that nobody changes: found as the first of its forms."""
    found = next(iter(forms))
    return Item(
        name=name,
        title=title,
        kind=LATENT,
        casting=like.casting if like else next(iter(network.castings)),
        stage=like.stage if like else next(iter(network.stages)),
        forms={form: Form(words) for form, words in forms.items()},
        found=found,
        confirmed=True,
        conditions=like.conditions if like else (),
    )


def _tear(network: Network, diaphragm: Diaphragm) -> _Latent:
    like = network.items.get(diaphragm.part or "")
    item = _item(diaphragm.name + TEAR, diaphragm.title, {SOUND: "sound", TORN: "torn"}, like, network)
    wet = diaphragm.wets or diaphragm.first
    there = tuple(form for form in diaphragm.valves) + tuple(form for form in diaphragm.limits)
    own = ((diaphragm.part, frozenset(there)),) if diaphragm.part else ()
    way = Way(
        name=item.name,
        title=f"tear in the {diaphragm.title}",
        kind=RUPTURE,
        a=wet,
        b=diaphragm.second if wet == diaphragm.first else diaphragm.first,
        area_m2=TEAR_AREA_M2,
        carries="air" if diaphragm.wets is None else "fuel",
        casting=item.casting,
        stage=item.stage,
        item=item.name,
        conditions=((item.name, frozenset({TORN})), *own, *diaphragm.conditions),
    )
    return _Latent(item, {}, (way,))


def _hoses(network: Network) -> Iterator[_Latent]:
    """Lines whose hose can come off at the chamber, which opens both ends, or be pinched shut."""
    for name in sorted({way.item for way in network.ways if way.kind == "line"}):
        line = network.items[name]
        item = _item(name + HOSE, line.title, {SOUND: "sound", OFF: "hose off", PINCHED: "hose pinched"}, line, network)
        instead: dict[str, Way] = {}
        added: dict[str, Way] = {}
        own = [way for way in network.ways if way.item == name]
        led = {form for way in own for other, forms in way.conditions if other == name for form in forms}
        capped = frozenset(line.forms).difference(led)
        if capped and own[0].a != AMBIENT:
            added[f"{name}/cap lost"] = replace(
                own[0],
                name=f"{name}/cap lost",
                title=f"lost cap of the {line.title}",
                b=network.outside_of(own[0].a),
                conditions=((name, capped), (item.name, frozenset({OFF}))),
                inline=None,
                gate=None,
            )
        for way in own:
            instead[way.name] = replace(way, conditions=(*way.conditions, (item.name, frozenset({SOUND}))))
            off = (*way.conditions, (item.name, frozenset({OFF})))
            for end in (way.a, way.b):
                if end not in (AMBIENT, BOX):
                    added[f"{way.name}/{end} open"] = replace(
                        way,
                        name=f"{way.name}/{end} open",
                        title=f"open end of the {line.title}",
                        a=end,
                        b=network.outside_of(end),
                        conditions=off,
                        inline=None,
                    )
        yield _Latent(item, instead, tuple(added.values()))


def _one_way_valves(network: Network) -> Iterator[_Latent]:
    """One-way valves in air passages that can leak back, stick, or be put in the wrong way round."""
    for way in network.ways:
        if not way.one_way or way.carries != "air" or way.item != way.name:
            continue
        forms = {
            WORKS: "works",
            LEAKS: "lets flow pass back",
            STUCK_SHUT: "stuck shut",
            TURNED: "fitted the wrong way round",
        }
        like = network.items[way.item]
        item = _item(way.name + VALVE, f"one-way valve of the {way.title}", forms, like, network)

        def when(form: str, way: Way = way, item: Item = item) -> tuple[tuple[str, frozenset[str]], ...]:
            return (*way.conditions, (item.name, frozenset({form})))

        yield _Latent(
            item,
            {way.name: replace(way, conditions=when(WORKS))},
            (
                replace(way, name=f"{way.name}/leaking back", conditions=when(LEAKS), one_way=False),
                way.turned(f"{way.name}/{TURNED}", when(TURNED)),
            ),
        )

"""Shipped ratings of materials against what was published, each statement with its source beside it.

Only what was looked up stands here. A source's own words are given in short; how they become one of our three ratings
is said in the same line. Nothing is measured, so there is no tolerance: a rating is the same or it is not.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args

import pytest

from boostcarb.description.material import (
    FROM_MEMORY,
    NO_SOURCE,
    RatedFuel,
    Rating,
    shipped_material,
    shipped_materials,
    verdict,
)

# Every source that was looked up, by words that stand in its reference, and what of it was seen.
LOOKED_UP = {
    "SAE Technical Paper 840411": "abstract",
    "SAE Technical Paper 930447": "abstract",
    "OSTI 1616838": "abstract",
    "NACE-2015-5535": "abstract",
    "Journal of Fuels, 2014, article 429608": "abstract and Table 6",
    "Assessment of Elastomer Materials to Test Fuels Representing Gasoline Blends Containing Ethanol": "abstract",
    "Assessment of Plastic Infrastructure Materials to Test Fuels Representing Gasoline Blends Containing": "abstract",
    "6th International Symposium on Alcohol Fuel Technology": "abstract",
    "IPT Publication 1532": "abstract",
    "Fuel 90, 2011, pp. 1208-1214": "abstract",
    "KTH Royal Institute of Technology": "abstract",
    "EIS Study of Corrosion Behavior": "abstract",
    "10.1021/acs.energyfuels.7b01682": "abstract",
    "E20: The Feasibility of 20 Percent Ethanol": "key findings of the executive summary",
    "E20 material studies, 2008, as retold": "a magazine's account of the results",
    "1,500 h test of six carbureted fuel systems": "a published summary of the results",
    "Indiana Department of Environmental Management": "the guidance on metals and other materials",
    "Fluoroelastomers Handbook, 2006, section 2.1": "the first pages of the chapter",
}

# Material, fuel, rating, words of the reference, and what the source says.
PUBLISHED: list[tuple[str, RatedFuel, str, str, str]] = [
    # Abu-Isa, SAE 840411: "few elastomers were affected drastically by pure gasoline (e.g. natural rubber) and a few by
    # methanol (e.g. fluorocarbon elastomer)". Affected drastically: unsuitable.
    ("natural_rubber", "gasoline", "unsuitable", "840411", "drastically affected by gasoline"),
    ("fluorocarbon", "methanol", "unsuitable", "840411", "drastically affected by methanol"),
    ("fluorocarbon_lined_hose", "methanol", "unsuitable", "840411", "drastically affected by methanol"),
    # OSTI 1616838, E10: fluorocarbons and fluorosilicone swelled least, about 20 %; NBR hose grades 20 to 45 %
    # (limited); HNBR, neoprene and silicone so much that it "likely precludes their use" (unsuitable); plastics, PTFE,
    # PPS, POM and nylons among them, below 10 % but for nylon 11 (good).
    ("fluorocarbon", "E10", "good", "OSTI 1616838", "swelled least"),
    ("fluorosilicone", "E10", "good", "OSTI 1616838", "swelled least"),
    ("nitrile", "E10", "limited", "OSTI 1616838", "20 to 45 % swell"),
    ("nitrile_hose", "E10", "limited", "OSTI 1616838", "20 to 45 % swell"),
    ("hydrogenated_nitrile", "E10", "unsuitable", "OSTI 1616838", "use likely precluded"),
    ("neoprene", "E10", "unsuitable", "OSTI 1616838", "use likely precluded"),
    ("silicone", "E10", "unsuitable", "OSTI 1616838", "use likely precluded"),
    ("ptfe", "E10", "good", "OSTI 1616838", "below 10 % swell"),
    ("ptfe_hose", "E10", "good", "OSTI 1616838", "below 10 % swell"),
    ("polyphenylene_sulfide", "E10", "good", "OSTI 1616838", "below 10 % swell"),
    ("acetal", "E10", "good", "OSTI 1616838", "below 10 % swell"),
    ("nylon", "E10", "good", "OSTI 1616838", "below 10 % swell but for nylon 11"),
    # NACE-2015-5535: FKM, FVMQ and PA "evaluated as resistant in E10", FVMQ, VMQ and PA "as resistant in E85 at 20 and
    # 40 degC" (good). FKM, NBR and CR were exposed too and are not named for E85 (limited, at low confidence).
    ("fluorocarbon", "E10", "good", "NACE-2015-5535", "resistant in E10"),
    ("fluorosilicone", "E10", "good", "NACE-2015-5535", "resistant in E10"),
    ("fluorosilicone", "E85", "good", "NACE-2015-5535", "resistant in E85"),
    ("silicone", "E85", "good", "NACE-2015-5535", "resistant in E85"),
    ("nylon", "E85", "good", "NACE-2015-5535", "resistant in E85"),
    # Journal of Fuels 2014, 429608, Table 6, 500 h at 55 degC in E10 against E5: the neoprene sample "decomposed,
    # crumbled completely" (unsuitable); HNBR lost 13 units of hardness and 62 % of tensile strength, nylon 6,6 changed
    # in looks and lost 37 % of flexural strength (limited).
    ("neoprene", "E10", "unsuitable", "429608", "crumbled completely"),
    ("hydrogenated_nitrile", "E10", "limited", "429608", "loses strength and hardness"),
    ("nylon", "E10", "limited", "429608", "changed in looks, loses flexural strength"),
    # Elastomers in gasoline with 10 and 17 % ethanol: polyurethane "showed degradation" (unsuitable); the NBRs shrank
    # and grew brittle once dried (limited).
    ("urethane", "E10", "unsuitable", "Elastomer Materials to Test Fuels", "degradation"),
    ("nitrile", "E10", "limited", "Elastomer Materials to Test Fuels", "shrinks and embrittles dried"),
    # Plastics in gasoline with 25 % ethanol: acetal about 5 % in all fuels (good); nylon 6 and 6,6 changed least of the
    # nylons without ethanol (good) and swelled over 7 % with it (limited).
    ("acetal", "gasoline", "good", "Plastic Infrastructure Materials", "about 5 %"),
    ("acetal", "E10", "good", "Plastic Infrastructure Materials", "about 5 %"),
    ("nylon", "gasoline", "good", "Plastic Infrastructure Materials", "changed least"),
    ("nylon", "E10", "limited", "Plastic Infrastructure Materials", "over 7 %"),
    # Kajimoto, Wolynec, Tanaka 1984, 95 % ethanol: nickel and anodized aluminum adequate, zinc and lead not; "nickel
    # coatings, used to protect the carburetor, require an intermediate copper coating" (limited).
    ("zinc_plated_steel", "ethanol", "unsuitable", "Ottawa, 1984", "zinc not adequate"),
    ("lead", "ethanol", "unsuitable", "Ottawa, 1984", "lead not adequate"),
    ("terne_coated_steel", "ethanol", "unsuitable", "Ottawa, 1984", "lead not adequate"),
    ("anodized_aluminum", "ethanol", "good", "Ottawa, 1984", "adequate"),
    ("nickel_plated_zinc_alloy", "ethanol", "limited", "Ottawa, 1984", "needs copper under it"),
    # Wolynec, Kajimoto 1982: "the hard chromium and the nickel coatings presented the best performance".
    ("nickel_plated_zinc_alloy", "ethanol", "good", "Publication 1532", "among the best"),
    # SAE 930447, methanol blends, 2,000 h: electroless nickel and anodized aluminum "the best corrosion performance".
    ("nickel_plated_zinc_alloy", "methanol", "good", "930447", "the best"),
    ("anodized_aluminum", "methanol", "good", "930447", "the best"),
    # Yoo 2011: pits in a cast aluminum alloy "at a high temperature of 100 degC", 10 to 20 % ethanol; a bowl is cooler.
    ("aluminum_alloy", "E10", "good", "Fuel 90, 2011", "pits developed at 100 degC"),
    # Linder: "very aggressive" alcoholate corrosion of aluminum, postponed or prevented by water (limited).
    ("aluminum_alloy", "ethanol", "limited", "KTH", "hot and dry only"),
    ("aluminum_alloy", "E85", "limited", "KTH", "hot and dry only"),
    # EIS study, up to 15 % ethanol: the wrought aluminum alloy was satisfactory, ferrous metals suffered from water.
    ("aluminum_alloy", "E10", "good", "EIS Study", "satisfactory"),
    ("plain_steel", "E10", "limited", "EIS Study", "worse with water"),
    # Minnesota 2008: of 19 metals only a bare die-casting zinc alloy pitted in E10 and E20.
    ("zinc_alloy", "E10", "limited", "as retold in Classic Motorsports", "pitted, unplated"),
    # Kettering: "no evidence that there is any significant danger to the health of the fuel system components".
    ("zinc_alloy", "E10", "good", "Kettering", "no significant danger"),
    # Indiana: "zinc, brass or aluminum ... are not compatible with E85"; natural rubber and polyurethane "may degrade".
    ("zinc_alloy", "E85", "unsuitable", "Indiana", "not compatible"),
    ("brass", "E85", "unsuitable", "Indiana", "not compatible"),
    ("aluminum_alloy", "E85", "unsuitable", "Indiana", "not compatible"),
    ("natural_rubber", "E85", "unsuitable", "Indiana", "may degrade"),
    ("urethane", "E85", "unsuitable", "Indiana", "may degrade"),
    # Fluoroelastomers Handbook: "all the fluoromonomers impart good resistance to hydrocarbons".
    ("fluorocarbon", "gasoline", "good", "Fluoroelastomers Handbook", "resists hydrocarbons"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "fuel", "rating", "words", "said"), PUBLISHED)
def test_rating_is_what_the_source_says(name: str, fuel: RatedFuel, rating: str, words: str, said: str) -> None:
    found = {each.rating for each in verdict(shipped_material(name), fuel).ratings if words in each.source}
    assert found == {rating}, said


# Pairs of published statements above that differ, and pairs that agree, with nothing else said against them.
VERDICTS: list[tuple[str, RatedFuel, str]] = [
    ("fluorocarbon", "E10", "good"),
    ("fluorosilicone", "E10", "good"),
    ("fluorosilicone", "E85", "good"),
    ("acetal", "E10", "good"),
    ("neoprene", "E10", "unsuitable"),
    ("urethane", "E10", "unsuitable"),
    ("natural_rubber", "gasoline", "unsuitable"),
    ("zinc_plated_steel", "ethanol", "unsuitable"),
    ("anodized_aluminum", "ethanol", "good"),
    ("aluminum_alloy", "E10", "good"),
    ("hydrogenated_nitrile", "E10", "check grade"),
    ("nylon", "E10", "check grade"),
    ("nickel_plated_zinc_alloy", "ethanol", "check grade"),
    ("zinc_alloy", "E10", "check grade"),
    ("aluminum_alloy", "E85", "check grade"),
    ("fluorocarbon", "methanol", "check grade"),
    ("nitrile", "E10", "check grade"),
]


@pytest.mark.parametrize(("name", "fuel", "expected"), VERDICTS)
def test_verdict_shows_where_published_sources_agree_and_differ(name: str, fuel: RatedFuel, expected: str) -> None:
    said = verdict(shipped_material(name), fuel)
    assert said.rating == expected
    assert said.looked_up


def shipped_ratings() -> Iterator[tuple[str, Rating]]:
    for name in shipped_materials():
        for rating in shipped_material(name).ratings:
            yield name, rating


def test_every_source_was_looked_up_or_says_that_it_was_not() -> None:
    unknown = [
        (name, rating.source)
        for name, rating in shipped_ratings()
        if rating.looked_up and sum(words in rating.source for words in LOOKED_UP) != 1
    ]
    assert unknown == []


@pytest.mark.parametrize("words", LOOKED_UP)
def test_every_source_that_was_looked_up_is_used(words: str) -> None:
    assert any(words in rating.source for _, rating in shipped_ratings())


def test_what_was_not_looked_up_is_said_in_one_way() -> None:
    """A misspelled mark would pass for a reference."""
    for name, rating in shipped_ratings():
        source = rating.source.lower()
        if "memory" in source or "practice" in source:
            assert rating.source == NO_SOURCE or rating.source.endswith(f" {FROM_MEMORY}"), name


def test_every_statement_of_high_confidence_stands_in_the_table() -> None:
    """High confidence is kept for what can be checked here."""
    checked = {(name, fuel, words) for name, fuel, _, words, _ in PUBLISHED}
    missing = [
        (name, fuel, rating.source)
        for name, rating in shipped_ratings()
        for fuel in rating.fuels
        if rating.confidence == "high"
        and not any((name, fuel) == (each, of) and words in rating.source for each, of, words in checked)
    ]
    assert missing == []


def test_high_fluorine_is_the_only_fluorocarbon_without_a_conflict() -> None:
    """Swell of fluorocarbon rubber in alcohols falls as its fluorine rises; the tables differ on the common grade."""
    fuels: tuple[RatedFuel, ...] = get_args(RatedFuel)
    assert not any(verdict(shipped_material("fluorocarbon_high_fluorine"), fuel).conflict for fuel in fuels)
    assert [fuel for fuel in fuels if verdict(shipped_material("fluorocarbon"), fuel).conflict] == ["methanol"]

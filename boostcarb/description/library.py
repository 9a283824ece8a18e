"""Families and materials by name: those that travel with the package, and a user's own before them; jobs read by them.

A folder of one's own holds `families/`, `materials/` and `rules/`, or rule files alone. What is in it replaces what
travels with the package under the same name.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from boostcarb.description.job import Job
from boostcarb.description.loading import (
    SURROUNDINGS,
    Read,
    ReadFamily,
    read_family,
    shipped_families,
    shipped_family,
)
from boostcarb.description.material import Material, read_materials, shipped_material, shipped_materials
from boostcarb.description.source import data_files, read_document, validate
from boostcarb.description.supply import FuelSide
from boostcarb.description.typical_values import for_groups, typical_fuel_side
from boostcarb.errors import BadDescription, Problem
from boostcarb.suggest import suggest

FAMILIES, MATERIALS, RULES, TYPICAL = "families", "materials", "rules", "typical"
SECTIONS = (FAMILIES, MATERIALS, RULES)


@dataclass(frozen=True, eq=False)
class Library:
    """What is known by name. `folder` is the user's own; without one there is only what travels with the package."""

    folder: Path | None = None
    own_families: Mapping[str, ReadFamily] = field(default_factory=dict)
    own_materials: Mapping[str, Material] = field(default_factory=dict)

    @property
    def rules_folder(self) -> Path | None:
        """Where the user's own rules are, if there are any."""
        if self.folder is None:
            return None
        inside = self.folder / RULES
        return inside if inside.is_dir() else None if self._has_sections else self.folder

    @property
    def _has_sections(self) -> bool:
        return self.folder is not None and any((self.folder / section).is_dir() for section in SECTIONS)

    def families(self) -> tuple[str, ...]:
        """Names of all carburetor families, sorted; the surroundings are none."""
        return tuple(sorted({*shipped_families(), *self.own_families} - {SURROUNDINGS}))

    def family(self, name: str) -> ReadFamily:
        """A family, or the surroundings, by name. Raises: BadDescription where there is none."""
        if name in self.own_families:
            return self.own_families[name]
        if name not in (*self.families(), SURROUNDINGS):
            message = f"unknown family {name!r}; {suggest(name, self.families())}"
            raise BadDescription(Problem(message, field="carburetor"))
        return shipped_family(name)

    def materials(self) -> tuple[str, ...]:
        """Names of all materials, sorted."""
        return tuple(sorted({*shipped_materials(), *self.own_materials}))

    def material(self, name: str) -> Material:
        """A material by name. Raises: BadDescription where there is none."""
        if name in self.own_materials:
            return self.own_materials[name]
        if name not in shipped_materials():
            alike = [each for each in self.materials() if name.lower() in self.material(each).title.lower()]
            near = f"did you mean {' or '.join(map(repr, alike))}?" if alike else suggest(name, self.materials())
            raise BadDescription(Problem(f"unknown material {name!r}; {near}"))
        return shipped_material(name)

    def fuel_side(self, family: str) -> FuelSide:
        """Typical values of a family's fuel side, or of the family it is based on.

        Raises: BadDescription where there are none.
        """
        return for_groups(self._typical(family), self.family(family).family.groups)

    def _typical(self, family: str) -> FuelSide:
        if self.folder is not None:
            path = self.folder / FAMILIES / TYPICAL / f"{family}.yaml"
            if path.is_file():
                return validate(FuelSide, read_document(path))
            own = self.own_families.get(family)
            if own is not None and own.family.based_on not in (None, family):
                return self._typical(own.family.based_on or family)
            if own is not None and family not in shipped_families():
                message = f"no typical values of the fuel side for {family!r}; write them into {path}"
                raise BadDescription(Problem(message, field="carburetor"))
        return typical_fuel_side(family)

    @property
    def replaced(self) -> tuple[str, ...]:
        """What of the package the user's own families and materials stand in for."""
        families = [f"family {name}" for name in self.own_families if name in (*shipped_families(), SURROUNDINGS)]
        materials = [f"material {name}" for name in self.own_materials if name in shipped_materials()]
        return tuple(sorted([*families, *materials]))


SHIPPED = Library()
"""What travels with the package."""


def open_library(folder: Path | None) -> Library:
    """The package's data with those of a folder before them; None: the package's alone.

    Raises:
        BadDescription: no such folder, nothing in it that belongs there, or a file in it that is wrong.
    """
    if folder is None:
        return SHIPPED
    if not folder.is_dir():
        what = "is a file" if folder.exists() else "no such folder"
        raise BadDescription(
            Problem(f"{what}; name a folder with {', '.join(f'{each}/' for each in SECTIONS)}", folder)
        )
    _check_layout(folder)
    materials = {}
    if (folder / MATERIALS).is_dir():
        materials = {read.material.material: read.material for read in read_materials(folder / MATERIALS)}
    library = Library(folder, {}, materials)
    families = dict(_own_families(library)) if (folder / FAMILIES).is_dir() else {}
    library = Library(folder, families, materials)
    problems = [problem for read in families.values() for problem in unknown_materials(read, library)]
    if problems:
        raise BadDescription(problems)
    return library


def _check_layout(folder: Path) -> None:
    inside = sorted(entry.name for entry in folder.iterdir() if entry.is_dir() and not entry.name.startswith("."))
    if any(name in SECTIONS for name in inside):
        wrong = [name for name in inside if name not in SECTIONS]
        problems = [Problem(f"{suggest(name, SECTIONS)}; found a folder {name}/", folder / name) for name in wrong]
        loose = sorted(path for pattern in ("*.yaml", "*.yml") for path in folder.glob(pattern))
        homes = ", ".join(f"{each}/" for each in SECTIONS)
        problems += [Problem(f"stands outside the folders; put it into one of {homes}", path) for path in loose]
        if problems:
            raise BadDescription(problems)
    elif not any(folder.glob("*.yaml")):
        expected = f"expected folders named {', '.join(SECTIONS)}, or rule files named *.yaml"
        raise BadDescription(Problem(f"nothing here that is known: {expected}", folder))


def _own_families(library: Library) -> Iterator[tuple[str, ReadFamily]]:
    folder = (library.folder or Path()) / FAMILIES
    paths = sorted(data_files(folder, FAMILIES), key=lambda path: (path.stem != SURROUNDINGS, path.stem))
    around = shipped_family(SURROUNDINGS).family
    for path in paths:
        read = read_family(path, around)
        name = read.family.family
        if name != path.stem:
            raise BadDescription(read.problem(("family",), f"found {name!r}, but the file is named {path.name}"))
        if name == SURROUNDINGS:
            around = read.family
        yield name, read


def unknown_materials(read: ReadFamily, library: Library) -> Iterator[Problem]:
    """Materials that a family names and nobody describes, and one as built that is none of its choices."""
    for name, part in read.family.parts.items():
        made_of = part.made_of
        if made_of is None:
            continue
        path = ("parts", name, "made_of")
        for index, choice in enumerate(made_of.choices):
            if choice not in library.materials():
                message = f"unknown material {choice!r}; {suggest(choice, library.materials())}"
                yield read.problem((*path, "choices", index), message)


@dataclass(frozen=True, slots=True)
class ReadJob(Read):
    """A job, its file, and what is known by name when it is read."""

    job: Job
    library: Library = SHIPPED


def read_job(path: Path, library: Library = SHIPPED) -> ReadJob:
    """Read a job file. Raises BadDescription with file, line and field."""
    document = read_document(path)
    read = ReadJob(document, validate(Job, document), library)
    check_job(read)
    return read


def check_job(read: ReadJob) -> None:
    """Refuse a job of a family or barrel group that nobody describes. Raises BadDescription."""
    library, name = read.library, read.job.carburetor
    if name not in library.families():
        raise BadDescription(
            read.problem(("carburetor",), f"unknown family {name!r}; {suggest(name, library.families())}")
        )
    problems = list(_unknown_groups(read))
    if problems:
        raise BadDescription(problems)


def _unknown_groups(read: ReadJob) -> Iterator[Problem]:
    groups = read.library.family(read.job.carburetor).family.groups
    for section in ("pump", "bowls"):
        for group in getattr(read.job, section) or {}:
            if group not in groups:
                yield read.problem((section, group), f"no such barrel group; {suggest(group, groups)}")

"""What can be wrong after the work: single faults, parts fitted wrong, and planned changes that were not made."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.checks.model import Mistake
from boostcarb.checks.passing import passing
from boostcarb.faults.catalogue import faults_of
from boostcarb.network.model import Configuration, Network


def mistakes_of(network: Network, configuration: Configuration, found: Configuration) -> tuple[Mistake, ...]:
    """Every single mistake of a configuration, each once, by name. `network` has its latent items.

    `found` is what the work started from; a change back to it is one that was not made.
    """
    every = {
        mistake.name: mistake
        for mistake in (
            *_fitted_wrong(network, configuration),
            *(Mistake(each.item, each.form, each.title) for each in faults_of(network, configuration)),
            *_not_made(network, configuration, found),
        )
    }
    return tuple(every[name] for name in sorted(every))


def _not_made(network: Network, configuration: Configuration, found: Configuration) -> Iterator[Mistake]:
    for name, item in network.items.items():
        if configuration[name] != found[name]:
            title = f"{item.title}: still {item.forms[found[name]].title}"
            yield Mistake(name, found[name], title, not_made=True)


def _fitted_wrong(network: Network, configuration: Configuration) -> Iterator[Mistake]:
    """Forms of parts that nobody is told to fit and that change which ways pass.

    A part on which others or a diaphragm hang, such as the opening of the secondaries, is another carburetor in another
    form, not this one with a mistake.
    """
    sound = passing(network, configuration)
    hung_on = {other for item in network.items.values() if item.kind == "part" for other, _ in item.conditions}
    hung_on |= {other for each in network.diaphragms.values() for other in each.items()}
    for name, item in network.items.items():
        if item.kind != "part" or not item.is_there(configuration) or name in hung_on:
            continue
        for form, data in item.forms.items():
            if form == configuration[name] or data.labor is not None or not data.goes_with(configuration):
                continue
            if passing(network, {**configuration, name: form}) != sound:
                yield Mistake(name, form, f"{item.title}: {data.title}")

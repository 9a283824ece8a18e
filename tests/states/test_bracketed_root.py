import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.errors import NotSolved
from boostcarb.states.root import find_root


@given(root=st.floats(-50.0, 50.0), power=st.sampled_from([1, 3, 5]))
def test_finds_a_root_of_any_flatness(root: float, power: int) -> None:
    found = find_root(lambda x: (x - root) ** power, -60.0, 70.0, place="test")
    assert found == pytest.approx(root, abs=1e-9)


def test_finds_a_root_beside_an_infinite_slope() -> None:
    found = find_root(lambda x: math.copysign(math.sqrt(abs(x - 0.3)), x - 0.3), 0.0, 1.0, place="test")
    assert found == pytest.approx(0.3, abs=1e-15)


def test_finds_a_root_past_a_plateau() -> None:
    assert find_root(lambda x: max(x - 0.9, -0.1), 0.0, 1.0, place="test") == pytest.approx(0.9)


def test_takes_a_root_at_either_bound() -> None:
    assert find_root(lambda x: x - 1.0, 1.0, 2.0, place="test") == 1.0
    assert find_root(lambda x: x - 2.0, 1.0, 2.0, place="test") == 2.0


def test_closes_on_a_jump() -> None:
    found = find_root(lambda x: -1.0 if x < 0.7 else 1.0, 0.0, 1.0, place="test")
    assert found == pytest.approx(0.7, abs=1e-12)


@pytest.mark.parametrize("function", [lambda x: x * x + 1.0, lambda _x: math.nan])
def test_gives_no_number_without_a_sign_change(function: object) -> None:
    with pytest.raises(NotSolved) as caught:
        find_root(function, -1.0, 1.0, place="idle")  # type: ignore[arg-type]
    assert caught.value.places == ("idle",)


def test_gives_no_number_where_the_function_has_none() -> None:
    with pytest.raises(NotSolved, match="not a number"):
        find_root(lambda x: math.nan if 0.2 < x < 0.8 else x - 0.5, 0.0, 1.0, place="idle")


def test_needs_few_looks() -> None:
    looks = 0

    def function(x: float) -> float:
        nonlocal looks
        looks += 1
        return math.exp(x) - 5.0

    assert find_root(function, 0.0, 10.0, place="test") == pytest.approx(math.log(5.0))
    assert looks < 25

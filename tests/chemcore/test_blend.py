"""Blends: what balance and equilibrium ask for whatever the waters are."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chemcore.blend import blended, blended_ions, blended_ph, share
from chemcore.errors import DomainError
from chemcore.water import Ions

waters = st.tuples(st.floats(5.0, 400.0), st.floats(6.0, 8.3))
volumes = st.floats(1.0, 5000.0)


def mixed(litres, pairs):
    """Volume, alkalinity and pH of a blend."""
    alkalinities, phs = zip(*pairs)
    return sum(litres), (blended(litres, alkalinities), blended_ph(litres, alkalinities, phs))


@settings(deadline=None, max_examples=40)
@given(a=waters, b=waters, c=waters, va=volumes, vb=volumes, vc=volumes)
def test_blending_is_associative(a, b, c, va, vb, vc):
    v_ab, ab = mixed((va, vb), (a, b))
    v_bc, bc = mixed((vb, vc), (b, c))
    _, left = mixed((v_ab, vc), (ab, c))
    _, right = mixed((va, v_bc), (a, bc))
    _, at_once = mixed((va, vb, vc), (a, b, c))
    assert left == pytest.approx(right, rel=1e-8)
    assert left == pytest.approx(at_once, rel=1e-8)


@settings(deadline=None, max_examples=40)
@given(water=waters, va=volumes, vb=volumes)
def test_a_water_blended_with_itself_stays_what_it_is(water, va, vb):
    _, same = mixed((va, vb), (water, water))
    assert same == pytest.approx(water, rel=1e-8)


def test_ph_is_not_the_mean_of_the_phs():
    _, (alkalinity, ph) = mixed((1.0, 1.0), ((250.0, 7.2), (0.0, 5.6)))
    assert alkalinity == 125.0
    assert ph == pytest.approx(7.1, abs=0.15)
    assert abs(ph - 6.4) > 0.5


def test_ions_by_balance():
    ions = blended_ions(
        (600.0, 400.0), (Ions(80.0, 10.0, 20.0, 30.0, 40.0), Ions(0.0, 5.0, 0.0, 0.0, 0.0))
    )
    assert ions == pytest.approx((48.0, 8.0, 12.0, 18.0, 24.0))


@settings(deadline=None, max_examples=40)
@given(a=st.floats(0.0, 400.0), b=st.floats(0.0, 400.0), part=st.floats(0.0, 1.0))
def test_share_undoes_the_blend(a, b, part):
    if abs(a - b) < 1e-3:
        return
    target = blended((1.0 - part, part), (a, b))
    assert share(a, b, min(max(target, min(a, b)), max(a, b))) == pytest.approx(part, abs=1e-9)


@pytest.mark.parametrize(
    "a, b, target", [(200.0, 0.0, 201.0), (200.0, 50.0, 49.0), (80.0, 80.0, 80.0)]
)
def test_no_share_reaches_a_target_outside(a, b, target):
    with pytest.raises(DomainError, match="target_alkalinity"):
        share(a, b, target)

"""Waters, acids and temperatures for property tests: what a brewer may hand over, beyond what is
usual.
"""

from __future__ import annotations

from hypothesis import strategies as st

from chemcore.acids import acid_names, find_acid
from chemcore.water import Ions

#: Strength of each acid with which it has a volume.
STRENGTH = {
    name: min(find_acid(name).default_strength, find_acid(name).solubility_strength)
    for name in acid_names()
}

acids = st.sampled_from([find_acid(name) for name in acid_names()])
alkalinities = st.floats(5.0, 500.0)
source_ph = st.floats(6.6, 9.0)
target_ph = st.floats(4.2, 6.5)
temperatures = st.floats(0.0, 100.0)
lost = st.one_of(st.just(0.0), st.just(1.0), st.floats(0.0, 1.0))
ions = st.one_of(
    st.none(),
    st.builds(
        Ions,
        st.floats(0.0, 300.0),
        st.floats(0.0, 100.0),
        st.floats(0.0, 300.0),
        st.floats(0.0, 300.0),
        st.floats(0.0, 500.0),
    ),
)

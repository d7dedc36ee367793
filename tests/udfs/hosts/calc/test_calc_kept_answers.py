"""Answers that the component keeps for cells whose arguments have not changed, seen from the
worker's side.

The worker answers every question with the number of questions it has had, so that an answer which
was kept shows.
"""

import os

import pytest

COUNTING = """
    count = globals().get("count", 0) + 1
    say(frame(number, ANSWER))
"""


def counting(answer="str(count)"):
    return COUNTING.replace("ANSWER", answer)


@pytest.fixture
def package(tmp_path):
    """A file that stands for the installed package."""
    file = tmp_path / "package.py"
    file.write_text("1")
    return file


def of(component, package, answer="str(count)"):
    return component(counting(answer), package=str(package))


def test_an_unchanged_question_is_asked_once(component, package):
    worker = of(component, package)
    assert [worker.call("LITRES", (1.0, "hL")) for _ in range(3)] == [1.0, 1.0, 1.0]
    assert worker.call("LITRES", (2.0, "hL")) == 2.0
    assert worker.call("COLD_LITRES", (1.0, "hL")) == 3.0
    assert worker.call("LITRES", (1.0, "hL")) == 1.0


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ((1.0,), (True,)),
        ((0.0,), (False,)),
        ((0.0,), (-0.0,)),
        (("1",), (1.0,)),
        (("",), (None,)),
        ((1.0,), (1.0, None)),
        ((((1.0, 2.0),),), (((1.0,), (2.0,)),)),
        ((1.0,), (1.0000000000000002,)),
    ],
)
def test_questions_that_differ_at_all_are_asked_apart(component, package, one, other):
    worker = of(component, package)
    assert worker.call("X", one) != worker.call("X", other)


@pytest.mark.parametrize(
    "answer",
    [
        "'\"Check ph: give a pH\"'",
        '\'{"error": "#N/A"}\'',
        '\'[[1.0], [{"error": "#VALUE!"}]]\'',
        "'[[1.0], [\"Check ph: give a pH\"]]'",
    ],
)
def test_sentences_and_errors_are_asked_again(component, package, answer):
    worker = of(component, package, f"{answer} if count == 1 else '7.0'")
    first = worker.call("X", (1.0,))
    assert first != 7.0
    assert worker.call("X", (1.0,)) == 7.0


def test_what_the_installation_answers_is_asked_again(component, package):
    worker = of(component, package)
    assert [worker.call("ADDIN_STATUS", (0.0,)) for _ in range(3)] == [1.0, 2.0, 3.0]


def test_a_changed_package_and_a_new_worker_are_asked_again(component, package):
    worker = of(component, package, 'repr(os.getpid()) + "." + repr(count)')
    first = worker.call("X", (1.0,))
    assert worker.call("X", (1.0,)) == first
    package.write_text("12")
    worker.kept.look_again = 0.0
    second = worker.call("X", (1.0,))
    assert second != first
    assert worker.call("X", (1.0,)) == second
    package.unlink()
    worker.kept.look_again = 0.0
    assert worker.call("X", (1.0,)) != second
    package.write_text("12")
    worker.end()
    assert worker.call("Y", (1.0,)) not in (first, second)  # starts the next worker
    assert worker.call("X", (1.0,)) not in (first, second)


def test_what_is_kept_is_bounded_and_the_oldest_go(component, package):
    worker = of(component, package)
    kept = worker.kept
    text = "x" * 10_000
    for number in range(6_000):
        kept.put("X", b"%d %s" % (number, text.encode()), b"1.0", 1.0)
    held = sum(len(question) for question in kept.answers)
    assert 20_000_000 < held < 32_000_000
    assert b"5999 " + text.encode() in kept.answers
    assert b"0 " + text.encode() not in kept.answers
    kept.put("X", b"x" * 10_000_000, b"1.0", 1.0)
    assert max(map(len, kept.answers)) < 11_000


@pytest.mark.skipif(not hasattr(os, "sched_setaffinity"), reason="this system pins no process")
def test_the_worker_runs_where_the_office_runs(component, package):
    everywhere = os.sched_getaffinity(0)
    here = min(everywhere)
    worker = of(component, package)
    try:
        os.sched_setaffinity(0, {here})
        assert worker.call("X", (1.0,)) == 1.0
        assert os.sched_getaffinity(worker.process.pid) == {here}
    finally:
        os.sched_setaffinity(0, everywhere)

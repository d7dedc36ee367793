"""The component's side of the talk with the worker, without an office: what comes in the place of a
right answer.

The workers are small programs that misbehave in one way each.
"""

import sys

import pytest

from udfs import call

POSIX = pytest.mark.skipif(sys.platform == "win32", reason="the wrappers are shell scripts")


@POSIX
@pytest.mark.parametrize(
    "script",
    [
        'echo "starting $0 $@"\nexec "{python}" "$@"',
        'echo 1.0\necho "\\"\\""\nexec "{python}" "$@"',
        'printf "no end of line"\nexec "{python}" "$@"',
        '"{python}" "$@"\necho "ended"',
        '(while sleep 0.01; do echo 7.0; done) &\n"{python}" "$@"',
        'printf "$4 1 3 9.9\\n$4 0 x\\n" >&2\nprintf "$4"\nexec "{python}" "$@"',
    ],
    ids=["echo", "like an answer", "half a line", "not exec", "all the time", "the token"],
)
def test_a_wrapper_that_writes_does_not_shift_answers(component, script):
    worker = component(script=script)
    numbers = [float(number) for number in range(1, 60)]
    found = [worker.call("HARDNESS", (number, 5.0)) for number in numbers]
    assert found == [call("HARDNESS", number, 5.0) for number in numbers]


@pytest.mark.parametrize(
    "mischief",
    [
        "say(frame(number - 1, '1.0') if not AGAIN else right)",
        "say(frame(number + 1, '1.0') if not AGAIN else right)",
        "say(right[:-3] + b'7' + right[-3:] if not AGAIN else right)",
        "say(right[:-3] + right[-2:] if not AGAIN else right)",
        "say(right if AGAIN else right[:-1]); AGAIN or sys.exit()",
        "say(b'5.0\\n' + right + frame(number, '9.0'))",
        "say(b'5.0' + right)",
    ],
    ids=["earlier", "later", "longer", "shorter", "no end", "answered twice", "half a line"],
)
def test_an_answer_to_another_question_is_none(component, mischief):
    """Asked again in a new process; never does another number come through."""
    worker = component(worker="    " + mischief)
    numbers = [412.25, 3.0, 7.5]
    assert [worker.call("HARDNESS", (number,)) for number in numbers] == [2 * n for n in numbers]


def test_a_worker_that_never_answers_right_gets_a_sentence(component):
    worker = component(worker="    say(frame(number - 1, '1.0'))")
    sentence = (
        "Check add-in: its Python stops at a formula; wait a minute, then Ctrl+Shift+F9 tries again"
    )
    assert worker.call("HARDNESS", (1.0, 2.0)) == sentence
    assert worker.call("HARDNESS", (3.0, 2.0)) == sentence


@POSIX
def test_a_hanging_python_behind_a_wrapper_is_given_up(component):
    """The wrapper starts Python as a child, which holds the pipes when the wrapper alone is
    ended.
    """
    worker = component(
        worker="    import time; time.sleep(600)",
        script='"{python}" "$@"\necho done',
        **{"seconds to answer": 1},
    )
    assert "took more than 1 s over a formula" in worker.call("HARDNESS", (1.0, 2.0))


@POSIX
def test_a_python_that_only_talks_is_given_up(component):
    worker = component(script="while :; do echo talk; done", **{"seconds to start": 1})
    assert "did not start within 1 s" in worker.call("HARDNESS", (1.0, 2.0))

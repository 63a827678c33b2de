"""The triage graph, walked whole: every path for every set of facts that matters to it."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from quotes.handover.errors import PathRefused
from quotes.handover.job import FACTS
from quotes.handover.triage import KINDS, End, Node, triage_graph, walk
from tests.quotes.handover.jobs import STORIES, job_of, job_with

Path = tuple[tuple[tuple[str, str], ...], dict[str, bool], End]
PROTECTIVE = re.compile(r"\b(do not|never|leave|nobody|stays? shut)\b", re.IGNORECASE)
PROTECTIVE_ES = re.compile(
    r"\b(no|nunca|deje|nadie|lo corrige|con su puerta cerrada|lo protege)\b", re.IGNORECASE
)
# Words of acts that a customer must never be told to do: reaching live parts, defeating a guard.
DANGEROUS = re.compile(
    r"\b(bypass\w*|jumper\w*|defeat\w*|overrid\w*|wedge|tie|tape|unscrew|remove the cover|open the"
    r" (?:panel|cover|box|selector|coolant)|terminal\w*|probe|short|turn the selector|"
    r"turns the selector|coolant cap|interlock\w*|bridge)\b",
    re.IGNORECASE,
)
DANGEROUS_ES = re.compile(
    r"\b(puente\w*|anul\w*|trabe|amarre|desatornill\w*|quite la tapa|"
    r"abra (?:la|el) (?:tapa|panel|caja)|"
    r"borne\w*|gire el selector|gira el selector|enclavamiento\w*)\b",
    re.IGNORECASE,
)  # fmt: skip


def paths(key: str = "", known: dict[str, bool] | None = None) -> Iterator[Path]:
    """Every path from a node; a fact once taken to hold holds to the end."""
    graph = triage_graph()
    key, known = key or graph.first, known or {}
    if key in graph.ends:
        yield (), known, graph.ends[key]
        return
    node = graph.nodes[key]
    for facts, asked in branches(node, known):
        targets = (
            [(reply.key, reply.to) for reply in node.replies] if asked else [("", node.otherwise)]
        )
        for answer, to in targets:
            for rest, all_facts, end in paths(to, facts):
                step = ((key, answer),) if asked else ()
                yield (*step, *rest), all_facts, end


def branches(node: Node, known: dict[str, bool]) -> list[tuple[dict[str, bool], bool]]:
    """The facts under which a node is asked, and those under which it is passed over."""
    if not node.when:
        return [(known, True)]
    assert len(node.when) == 1, "one fact a question keeps the walk plain"
    name, wanted = node.when[0].removeprefix("!"), not node.when[0].startswith("!")
    if name in known:
        return [(known, known[name] == wanted)]
    return [({**known, name: value}, value == wanted) for value in (True, False)]


ALL_PATHS = list(paths())


def texts(language: str) -> Iterator[str]:
    graph = triage_graph()
    for node in graph.nodes.values():
        yield getattr(node.text, language)
        yield from (getattr(reply.text, language) for reply in node.replies)
    yield from (getattr(end.text, language) for end in graph.ends.values())


def test_every_path_ends_and_the_walk_agrees_with_the_graph() -> None:
    assert len(ALL_PATHS) > 200
    for steps, facts, end in ALL_PATHS:
        job = job_with(*(name for name, holds in facts.items() if holds))
        walked = walk(job, "~".join(f"{key}.{answer}" for key, answer in steps))
        assert walked.at == end
        assert [(node.key, reply.key) for node, reply in walked.steps] == list(steps)


def test_every_question_and_every_end_is_reached() -> None:
    graph = triage_graph()
    assert {key for steps, _, _ in ALL_PATHS for key, _ in steps} == set(graph.nodes)
    assert {end.key for _, _, end in ALL_PATHS} == set(graph.ends)


def test_no_path_asks_twice_or_keeps_a_caller_long() -> None:
    for steps, _facts, _end in ALL_PATHS:
        asked = [key for key, _ in steps]
        assert len(asked) == len(set(asked)) <= 15


def test_danger_is_asked_first_and_ends_at_once() -> None:
    for steps, _facts, end in ALL_PATHS:
        assert steps[0][0] == "danger"
        assert (steps[0][1] == "yes") == (len(steps) == 1)
        if len(steps) == 1:
            assert (end.kind, "911" in end.text.en) == ("emergency", True)


@pytest.mark.parametrize("answer", ["oil", "coolant"])
def test_low_oil_or_coolant_always_stops(answer: str) -> None:
    ends = {end.kind for steps, _, end in ALL_PATHS if any(said == answer for _, said in steps)}
    assert ends == {"stop_call"}


@pytest.mark.parametrize("answer", [("wrong"), ("broken"), ("trips"), ("many"), ("unknown")])
def test_signs_of_danger_to_people_or_equipment_stop(answer: str) -> None:
    ends = {end.kind for steps, _, end in ALL_PATHS if steps[-1][1] == answer}
    assert ends == {"stop_call"}


def test_nobody_is_told_to_open_a_live_panel_or_to_defeat_a_guard() -> None:
    for text in texts("en"):
        for sentence in re.split(r"(?<=[.?!])\s+", text):
            assert not DANGEROUS.search(sentence) or PROTECTIVE.search(sentence), sentence
    for text in texts("es"):
        for sentence in re.split(r"(?<=[.?!])\s+", text):
            assert not DANGEROUS_ES.search(sentence) or PROTECTIVE_ES.search(sentence), sentence


@pytest.mark.parametrize(
    "bad",
    ["Open the panel and look.", "Bypass the interlock.", "Turn the selector to the next.",
     "Wedge the door shut.", "Put a jumper across the terminals."],
)  # fmt: skip
def test_the_guard_against_dangerous_words_finds_them(bad: str) -> None:
    assert DANGEROUS.search(bad)
    assert not PROTECTIVE.search(bad)


@pytest.mark.parametrize(
    ("fact", "question"),
    [("automatic", "water"), ("selector", "selector_start"), ("auxiliary_tank", "valves"),
     ("building", "building"), ("motors", "rotation"), ("sockets_dead", "sockets"),
     ("owner_refuels", "refuel_by")],
)  # fmt: skip
def test_what_the_order_answers_is_not_asked(fact: str, question: str) -> None:
    asked = [facts[fact] for steps, facts, _ in ALL_PATHS if question in dict(steps)]
    assert asked
    assert all(asked)


def test_every_fact_of_the_graph_is_a_fact_of_a_job() -> None:
    names = {name for node in triage_graph().nodes.values() for name in node.when}
    assert {name.removeprefix("!") for name in names} <= set(FACTS)
    assert all(end.kind in KINDS for end in triage_graph().ends.values())


@pytest.mark.parametrize("story", STORIES)
@pytest.mark.parametrize("language", ["en", "es"])
def test_every_text_can_be_filled_in_for_every_story(story: str, language: str) -> None:
    words = job_of(story).words
    assert all("{" not in text.format_map(words) for text in texts(language))


@pytest.mark.parametrize(
    "path", ["danger.maybe", "symptom.dead", "nonsense", "danger.yes~symptom.dead"]
)
def test_a_path_that_is_none_is_refused(path: str) -> None:
    with pytest.raises(PathRefused):
        walk(job_of(), path)

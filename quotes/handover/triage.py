"""When the set does not start: a graph of questions held as data, and a walk through it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from quotes.handover.errors import PathRefused
from quotes.handover.job import FACTS, HandoverJob
from quotes.handover.texts import Text, read

KINDS = ("solved", "call", "stop_call", "emergency")


@dataclass(frozen=True, slots=True)
class Reply:
    """One answer to a question, and where it leads."""

    key: str
    text: Text
    to: str


@dataclass(frozen=True, slots=True)
class Node:
    """One question; asked only where ``when`` holds, else the walk goes on at ``otherwise``."""

    key: str
    text: Text
    replies: tuple[Reply, ...]
    when: tuple[str, ...] = ()
    otherwise: str = ""

    def reply(self, key: str) -> Reply:
        """The answer of a key; ``PathRefused`` where the question has none such."""
        for reply in self.replies:
            if reply.key == key:
                return reply
        raise PathRefused


@dataclass(frozen=True, slots=True)
class End:
    """Where a path ends: solved, call, stop and call, or an emergency."""

    key: str
    kind: str
    text: Text


@dataclass(frozen=True, slots=True)
class Graph:
    """All questions and ends."""

    first: str
    nodes: Mapping[str, Node]
    ends: Mapping[str, End]


@dataclass(frozen=True, slots=True)
class Walk:
    """What was asked and answered, and what comes now: the next question or the end."""

    steps: tuple[tuple[Node, Reply], ...]
    at: Node | End

    @property
    def path(self) -> str:
        """The path as text: ``danger.no~symptom.dead``."""
        return "~".join(f"{node.key}.{reply.key}" for node, reply in self.steps)


@lru_cache(maxsize=1)
def triage_graph() -> Graph:
    """The graph of the data file, whole: every answer leads somewhere, every fact is known."""
    found = read("triage.toml")
    nodes = {row["key"]: _node(row) for row in found["node"]}
    ends = {row["key"]: _end(row) for row in found["end"]}
    graph = Graph(found["first"]["node"], nodes, ends)
    _refuse_damaged(graph)
    return graph


def _node(row: Mapping[str, object]) -> Node:
    replies = [Reply(key, Text(en, es), to) for key, en, es, to in row["answers"]]  # type: ignore[attr-defined]
    return Node(
        key=str(row["key"]),
        text=Text(str(row["en"]), str(row["es"])),
        replies=tuple(replies),
        when=tuple(row.get("when", ())),  # type: ignore[arg-type]
        otherwise=str(row.get("otherwise", "")),
    )


def _end(row: Mapping[str, object]) -> End:
    return End(str(row["key"]), str(row["kind"]), Text(str(row["en"]), str(row["es"])))


def _refuse_damaged(graph: Graph) -> None:
    places = {*graph.nodes, *graph.ends}
    for node in graph.nodes.values():
        leads_to = {reply.to for reply in node.replies} | ({node.otherwise} - {""})
        assert leads_to <= places, f"{node.key} leads nowhere: {leads_to - places}"
        assert bool(node.when) == bool(node.otherwise), f"{node.key} is left out and leads nowhere"
        assert {name.removeprefix("!") for name in node.when} <= set(FACTS), node.key
    assert all(end.kind in KINDS for end in graph.ends.values())


def walk(job: HandoverJob, path: str, graph: Graph | None = None) -> Walk:
    """Follow a path from the first question; ``PathRefused`` where it does not fit the graph."""
    graph = graph or triage_graph()
    answers = dict(_pair(part) for part in path.split("~") if part)
    at: Node | End = _asked(graph, job, graph.first)
    steps: list[tuple[Node, Reply]] = []
    while isinstance(at, Node) and at.key in answers:
        reply = at.reply(answers.pop(at.key))
        steps.append((at, reply))
        at = _asked(graph, job, reply.to)
    if answers:
        raise PathRefused
    return Walk(tuple(steps), at)


def _pair(part: str) -> tuple[str, str]:
    key, dot, answer = part.partition(".")
    if not dot:
        raise PathRefused
    return key, answer


def _asked(graph: Graph, job: HandoverJob, key: str) -> Node | End:
    """The question or end at a key, past the questions that the order answers."""
    while key in graph.nodes:
        node = graph.nodes[key]
        if job.holds(node.when):
            return node
        key = node.otherwise
    return graph.ends[key]


def path_words(
    job: HandoverJob, steps: Sequence[tuple[Node, Reply]], language: str
) -> list[list[str]]:
    """Questions and answers as they were read."""
    return [
        [node.text.said(job.words, language), reply.text.said(job.words, language)]
        for node, reply in steps
    ]

"""The checklist made for one job, a pure function of its facts; rules are data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from quotes.handover.job import FACTS, HandoverJob
from quotes.handover.texts import Text, read

DELIVERY, RETURN = "delivery", "return"
WHO = ("driver", "connector", "receiver")


@dataclass(frozen=True, slots=True)
class Rule:
    """One item of a checklist, on the sheet where ``when`` holds."""

    key: str
    group: str
    by: str
    must: bool
    text: Text
    source: str
    when: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Item:
    """One item of this job's sheet, its words filled in."""

    key: str
    by: str
    must: bool
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Group:
    """Items under one heading."""

    key: str
    title: str
    items: tuple[Item, ...]


@lru_cache(maxsize=4)
def rules(kind: str = DELIVERY) -> tuple[Rule, ...]:
    """All rules of a checklist, in the order they are worked through."""
    found = tuple(_rule(row) for row in read(f"{kind}.toml")["item"])
    assert len({rule.key for rule in found}) == len(found), "a key stands twice"
    assert {rule.group for rule in found} <= set(_titles(kind))
    return found


def _rule(row: Mapping[str, Any]) -> Rule:
    when = tuple(row.get("when", ()))
    assert row["by"] in WHO, row["key"]
    assert {name.removeprefix("!") for name in when} <= set(FACTS), row["key"]
    return Rule(
        row["key"], row["group"], row["by"], row["must"], Text(row["en"], row["es"]),
        row["source"], when,
    )  # fmt: skip


def _titles(kind: str) -> dict[str, Text]:
    return {row["key"]: Text(row["en"], row["es"]) for row in read(f"{kind}.toml")["group"]}


def checklist(job: HandoverJob, kind: str = DELIVERY, language: str = "en") -> tuple[Group, ...]:
    """The groups of this job's sheet; one without items is left out."""
    wanted = [rule for rule in rules(kind) if job.holds(rule.when)]
    groups = [
        Group(key, title.said(job.words, language), _items(wanted, key, job, language))
        for key, title in _titles(kind).items()
    ]
    return tuple(group for group in groups if group.items)


def _items(wanted: list[Rule], group: str, job: HandoverJob, language: str) -> tuple[Item, ...]:
    return tuple(
        Item(rule.key, rule.by, rule.must, rule.text.said(job.words, language), _shown(rule))
        for rule in wanted
        if rule.group == group
    )


def _shown(rule: Rule) -> str:
    """The source as it is printed; how it was had stays with the rule."""
    return rule.source.replace(" (memory)", "")


def items_of(job: HandoverJob, kind: str = DELIVERY) -> dict[str, Item]:
    """Items of this job's sheet by key."""
    return {item.key: item for group in checklist(job, kind) for item in group.items}

"""A client in Python, made from the OpenAPI document alone: a method for each operation."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

Send = Callable[[str, str, dict[str, str], Any], Any]
HEAD = '''"""Client of {title} {version}, made from its OpenAPI document."""
from urllib.parse import quote, urlencode


class Client:
    def __init__(self, send):
        self._send = send

    def _call(self, method, path, known, query, headers, body):
        for name, value in known.items():
            path = path.replace("{{" + name + "}}", quote(str(value), safe=""))
        asked = {{name: value for name, value in query.items() if value is not None}}
        given = {{name: value for name, value in headers.items() if value is not None}}
        return self._send(method, path + ("?" + urlencode(asked) if asked else ""), given, body)
'''
METHOD = '''
    def {name}(self{arguments}):
        """{summary}"""
        return self._call({method!r}, {path!r}, {known}, {query}, {headers}, {body})
'''


def client_source(document: dict[str, Any]) -> str:
    """The text of the client's module."""
    head = HEAD.format(**document["info"])
    methods = [
        _method(path, method, operation)
        for path, methods in document["paths"].items()
        for method, operation in methods.items()
    ]
    return head + "".join(methods)


def _method(path: str, method: str, operation: dict[str, Any]) -> str:
    given = {"path": [], "query": [], "header": []}  # type: dict[str, list[dict[str, Any]]]
    for one in operation.get("parameters", []):
        given[one["in"]].append(one)
    given["path"].sort(key=lambda one: path.index("{" + one["name"] + "}"))
    bodied = "requestBody" in operation
    first = [_name(one) for one in given["path"]] + (["body"] if bodied else [])
    late = [
        _name(one) + ("" if one.get("required") else "=None")
        for one in given["header"] + given["query"]
    ]
    return METHOD.format(
        name=operation["operationId"],
        arguments="".join(f", {one}" for one in [*first, *(["*", *late] if late else [])]),
        summary=operation["summary"],
        method=method.upper(),
        path=path,
        known=_mapping(given["path"]),
        query=_mapping(given["query"]),
        headers=_mapping(given["header"]),
        body="body" if bodied else "None",
    )


def _mapping(parameters: list[dict[str, Any]]) -> str:
    return "{" + ", ".join(f"{one['name']!r}: {_name(one)}" for one in parameters) + "}"


def _name(parameter: dict[str, Any]) -> str:
    return re.sub(r"\W", "_", parameter["name"].lower())


def client_made(document: dict[str, Any], send: Send) -> Any:
    """An object with a method for each operation."""
    names: dict[str, Any] = {}
    exec(compile(client_source(document), "client.py", "exec"), names)
    return names["Client"](send)

"""What of one answer another call takes, as OpenAPI links."""

from __future__ import annotations

from typing import Any

Document = dict[str, Any]
REFERENCE = {"reference": "$response.body#/reference"}
SAME = {"reference": "$request.path.reference"}
FIRST = {"reference": "$response.body#/items/0/reference"}
TAG = {"header.If-Match": "$response.header.ETag"}

# operation, status: the calls that may follow, each with where its parameters come from.
LINKS: dict[tuple[str, str], dict[str, dict[str, str]]] = {
    ("make_request", "201"): {
        "read_request": REFERENCE,
        "answer": {**REFERENCE, **TAG},
        "add_load": {**REFERENCE, **TAG},
        "submit_request": {**REFERENCE, **TAG},
        "change_load": {**REFERENCE, **TAG, "id": "$response.body#/loads/0/id"},
    },
    ("list_requests", "200"): {
        "read_request": FIRST, "read_sizing": FIRST, "read_quote": FIRST, "read_order": FIRST,
        "list_revisions": FIRST,
    },
    ("read_request", "200"): {
        "answer": {**SAME, **TAG}, "submit_request": {**SAME, **TAG}, "read_quote": SAME,
        "read_sizing": SAME,
    },
    ("answer", "200"): {"submit_request": {**SAME, **TAG}},
    ("submit_request", "200"): {"read_request": SAME, "read_sizing": SAME, "read_case": SAME},
    ("read_quote", "200"): {
        "accept_quote": SAME,
        "decline_quote": SAME,
        "ask_quote_change": SAME,
        "read_quote_document": {**SAME, "revision": "$response.body#/revision"},
    },
    ("accept_quote", "201"): {"read_order": SAME},
    ("read_order", "200"): {
        "read_order_paper": {**SAME, "unit": "$response.body#/bookings/0/unit"},
    },
    ("list_cases", "200"): {"read_case": FIRST},
    ("read_case", "200"): {
        "take_case": {**SAME, **TAG},
        "ask_customer": {**SAME, **TAG},
        "decline_case": {**SAME, **TAG},
        "release_case": {**SAME, **TAG},
        "correct_answer": {**SAME, **TAG},
        "settle_finding": {**SAME, **TAG, "id": "$response.body#/findings/0/id"},
        "second_finding": {**SAME, **TAG, "id": "$response.body#/findings/0/id"},
    },
    ("settle_finding", "200"): {"release_case": {**SAME, **TAG}},
    ("list_bookings", "200"): {
        name: {"id": "$response.body#/items/0/id"}
        for name in ("read_booking", "read_booking_paper")
    },
    ("list_own_sets", "200"): {"read_own_set": {"code": "$response.body#/items/0/code"}},
    ("read_own_set", "200"): {"change_own_set": {"code": "$request.path.code", **TAG}},
    ("list_units", "200"): {"read_unit": {"number": "$response.body#/items/0/number"}},
    ("read_unit", "200"): {"change_unit": {"number": "$request.path.number", **TAG}},
    ("list_rate_cards", "200"): {
        name: {"card": "$response.body#/items/0/code"}
        for name in ("read_rate_card", "copy_rate_card", "list_prices", "list_fees", "add_price")
    },
    ("read_rate_card", "200"): {"change_rate_card": {"card": "$request.path.card", **TAG}},
    ("list_prices", "200"): {
        "read_price": {
            "card": "$request.path.card", "item": "$response.body#/items/0/item_code",
        }
    },
    ("read_price", "200"): {
        "change_price": {"card": "$request.path.card", "item": "$request.path.item", **TAG}
    },
    ("list_fees", "200"): {
        "read_fee": {"card": "$request.path.card", "fee": "$response.body#/items/0/code"}
    },
    ("read_fee", "200"): {
        "change_fee": {"card": "$request.path.card", "fee": "$request.path.fee", **TAG}
    },
    ("add_site", "201"): {
        name: {"id": "$response.body#/id", **(TAG if name != "read_site" else {})}
        for name in ("read_site", "change_site", "review_site", "retire_site")
    },
    ("list_sites", "200"): {"read_site": {"id": "$response.body#/items/0/id"}},
    ("try_site_table", "201"): {
        name: {"id": "$response.body#/id"} for name in ("read_site_table", "take_site_table")
    },
    ("make_webhook", "201"): {
        name: {"id": "$response.body#/id", **(TAG if name != "read_webhook" else {})}
        for name in ("read_webhook", "change_webhook", "rotate_webhook_secret", "remove_webhook")
    },
    ("list_webhooks", "200"): {"list_deliveries": {"id": "$response.body#/items/0/id"}},
}  # fmt: skip


def links_add(result: Document) -> None:
    """Write the links into the answers they start from."""
    for path in result["paths"].values():
        for operation in path.values():
            for status, response in operation["responses"].items():
                found = LINKS.get((operation["operationId"], status), {})
                if found:
                    response["links"] = {
                        name: {"operationId": name, "parameters": parameters}
                        for name, parameters in found.items()
                    }

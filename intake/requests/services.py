"""What can be done to a request, for views, desk and API alike."""

from intake.requests.answering import answers_keep, answers_save
from intake.requests.equipment import (
    load_add,
    load_copy,
    load_keep,
    load_move,
    load_remove,
    load_save,
)
from intake.requests.runs import sizing_run_store
from intake.requests.starting import request_start
from intake.requests.submitting import request_submit

__all__ = [
    "answers_keep",
    "answers_save",
    "load_add",
    "load_copy",
    "load_keep",
    "load_move",
    "load_remove",
    "load_save",
    "request_start",
    "request_submit",
    "sizing_run_store",
]

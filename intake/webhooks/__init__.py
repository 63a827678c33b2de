"""Telling other systems what happened: signed by Standard Webhooks, tried again, never twice."""

"""Figures for the people who run the service, in the text format of Prometheus.

`requests` counts in the web processes, `tasks` in the workers (kept in Redis, so that it does not
matter on which machine a worker runs), `work` reads queues and outbox when asked, `page` shows all.
"""

"""Work handed to Celery through rows written with the change they belong to.

`outbox_put` writes a row inside the caller's transaction, the relay publishes it afterwards, and
`handles_once` makes the task take effect once, however often it is delivered.
"""

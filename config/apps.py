from importlib import import_module

from django.apps import AppConfig


class ConfigApp(AppConfig):
    name = "config"
    label = "config"

    def ready(self) -> None:
        """Load the Celery application, so that it is the one tasks and the relay speak to."""
        import_module("config.celery")

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class IntakeApp(AppConfig):
    name = "intake"
    label = "intake"

    def ready(self) -> None:
        from intake.desk.roles import roles_ensure

        post_migrate.connect(roles_ensure, sender=self, dispatch_uid="desk roles")

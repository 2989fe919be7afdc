"""The top floor: who goes where, now; and the site itself."""

from importlib import import_module

from django.apps import AppConfig


class DispatchConfig(AppConfig):
    name = "dispatch"
    verbose_name = "Dispatch"

    def ready(self) -> None:
        """Load the Celery app, so that shared tasks bind to it, and listen to what happens below
        and to what vets answer.

        Neither is imported in ``dispatch/__init__.py``, because that would load Celery and Django
        into the planner, which knows neither.
        """
        import_module("dispatch.celery")
        import_module("dispatch.events")
        import_module("dispatch.services.offer_replies")

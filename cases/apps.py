"""The middle floor: whom we serve, what was done, what is owed next."""

from importlib import import_module

from django.apps import AppConfig


class CasesConfig(AppConfig):
    name = "cases"
    verbose_name = "Cases"

    def ready(self) -> None:
        """Register those who understand what farms answer by text message, and whose messages go on."""
        import_module("cases.services.acknowledging")
        import_module("cases.services.going_on")
        import_module("cases.services.recheck_replies")

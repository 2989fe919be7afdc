"""The middle floor: whom we serve, what was done, what is owed next."""

from django.apps import AppConfig


class CasesConfig(AppConfig):
    name = "cases"
    verbose_name = "Cases"

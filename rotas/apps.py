"""The ground floor: who works here, and when."""

from django.apps import AppConfig


class RotasConfig(AppConfig):
    name = "rotas"
    verbose_name = "Rotas"

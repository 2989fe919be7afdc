"""Addresses of the API, /api/v1/."""

from django.urls import include, path

from dispatch.api.schema import schema_file

urlpatterns = [
    path("schema", schema_file),
    path("", include("cases.api.urls")),
    path("", include("rotas.api.urls")),
]

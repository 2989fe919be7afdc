"""Every address of the site."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("admin/", admin.site.urls),
    path("api/v1/", include("dispatch.api.urls")),
    path("", include("dispatch.pages.urls")),
]

handler400 = "dispatch.error_pages.bad_request"
handler403 = "dispatch.error_pages.forbidden"
handler404 = "dispatch.error_pages.not_found"
handler500 = "dispatch.error_pages.defect"

"""The addresses of the project, with the operators' pages: only with GEARLIFE_OPERATORS=1."""

from django.contrib import admin
from django.urls import path
from django.utils.module_loading import import_string

from gearlife.config import urls

admin.autodiscover()
urlpatterns = [path("operators/", import_string("gearlife.admin.site").urls), *urls.urlpatterns]
handler400, handler403 = urls.handler400, urls.handler403
handler404, handler500 = urls.handler404, urls.handler500

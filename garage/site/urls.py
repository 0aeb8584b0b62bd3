"""Every address of the site, a line a room. Printed or sent addresses are promises: see the handover room's tests."""

from django.conf import settings
from django.urls import URLPattern, URLResolver, include, path

from garage.site import views

urlpatterns: list[URLPattern | URLResolver] = [
    # the workshop
    path("", include("garage.people.urls")),
    path("import/", include("garage.arrivals.urls")),
    path("customers/", include("garage.customers.urls")),
    path("vehicles/", include("garage.vehicles.urls")),
    path("units/", include("garage.units.urls")),
    path("prices/", include("garage.pricelist.urls")),
    path("stock/", include("garage.stock.urls")),
    path("rota/", include("garage.rota.urls")),
    path("workshop/backups/", include("garage.backup.urls")),
    path("workshop/mail/", include("garage.mail.urls")),
    path("workshop/background/", include("garage.background.urls")),
    path("workshop/export/", include("garage.export.urls")),
    # the work on one car
    path("", include("jobs.urls")),
    # plumbing
    path("", include("garage.watching.urls")),
]
if settings.DEBUG:
    from garage.site import styleguide

    urlpatterns.append(path("style/", styleguide.styleguide, name="style"))

handler400 = views.bad_request
handler403 = views.permission_denied
handler404 = views.page_not_found
handler500 = views.server_error

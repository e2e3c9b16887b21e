"""Every address of the site. The only place that names the apps' url modules."""

from django.urls import include, path

CLUB = "c/<slug:club>/"

urlpatterns = [
    path("", include("shared.pages")),
    path("", include("planner.open_urls")),
    path(CLUB, include("shared.club_pages")),
    path(CLUB, include("squads.urls")),
    path(CLUB, include("drills.urls")),
    path(CLUB, include("planner.urls")),
]

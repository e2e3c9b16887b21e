"""Addresses that open to whoever holds their secret, outside any club's pages."""

from django.urls import path

from planner.views import feeds, how_hard, own
from shared.access import guarded

urlpatterns = guarded([path("feeds/<str:token>.ics", feeds.feed, name="feed"), *own.patterns, *how_hard.patterns])

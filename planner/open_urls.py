"""Addresses that open to whoever holds their secret, outside any club's pages."""

from django.urls import path

from planner.views import feeds, own
from shared.access import guarded

urlpatterns = guarded([path("feeds/<str:token>.ics", feeds.feed, name="feed"), *own.patterns])

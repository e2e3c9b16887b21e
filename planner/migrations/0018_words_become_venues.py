"""What nights and sessions called their venue becomes a venue of the club, once for each name whatever its letters.

A match at home is linked where its words are the name of such a venue. Other matches keep their words: an address of
another club is no venue of this one. Apart from 0015, since PostgreSQL alters no table with changes pending.
"""

from django.db import migrations


def tidy(words):
    return " ".join(words.split())


def make_venues(apps, schema_editor):
    for club in apps.get_model("shared", "Club").objects.all():
        Venues(apps, club).make()


class Venues:
    def __init__(self, apps, club):
        self.known = {venue.name.casefold(): venue for venue in apps.get_model("planner", "Venue").objects.filter(club=club.pk)}
        self.new_venue = apps.get_model("planner", "Venue")
        self.club = club
        self.nights = apps.get_model("planner", "TrainingNight").objects.filter(season__squad__club=club.pk, venue=None)
        self.sessions = apps.get_model("planner", "Session").objects.filter(squad__club=club.pk, venue=None)
        self.matches = apps.get_model("planner", "Fixture").objects.filter(squad__club=club.pk, venue=None, home=True)

    def make(self):
        for rows in (self.nights, self.sessions):
            for words in distinct(rows):
                if tidy(words):
                    self.take(rows.filter(venue_words=words), words)
        for words in distinct(self.matches):
            if venue := self.known.get(tidy(words).casefold()):
                self.matches.filter(venue_words=words).update(venue=venue)

    def take(self, rows, words):
        """Somebody said when the lights go off there: then there are some."""
        name, lit = tidy(words), rows.filter(lights_until__isnull=False).exists()
        venue = self.known.get(name.casefold())
        if venue is None:
            venue = self.new_venue.objects.create(club=self.club, name=name, zone=self.club.zone, floodlit=lit)
            self.known[name.casefold()] = venue
        elif lit and not venue.floodlit:
            venue.floodlit = True
            venue.save()
        rows.update(venue=venue, venue_words="")


def distinct(rows):
    return rows.exclude(venue_words="").order_by("venue_words").values_list("venue_words", flat=True).distinct()


def make_words(apps, schema_editor):
    for model in ("TrainingNight", "Session", "Fixture"):
        rows = apps.get_model("planner", model).objects
        for venue in apps.get_model("planner", "Venue").objects.all():
            at_it = rows.filter(venue=venue.pk)
            at_it.filter(venue_words="").update(venue_words=venue.name, venue=None)
            at_it.update(venue=None)


class Migration(migrations.Migration):

    dependencies = [
        ('planner', '0017_venues'),
    ]

    operations = [
        migrations.RunPython(make_venues, make_words),
    ]

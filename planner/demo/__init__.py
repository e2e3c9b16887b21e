"""An invented club to try everything on: its people, season, matches, absences and two planned blocks."""

"""Fixture lists as other programs write them: iCalendar, CSV and XLSX, each read into the same matches."""

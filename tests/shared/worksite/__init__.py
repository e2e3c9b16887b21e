"""An app whose only task is slow on purpose, for tests that kill workers. Not part of the site."""

"""The reader's own version: raised whenever the same bytes could measure otherwise, so that kept facts go stale."""

READER_VERSION = "10"

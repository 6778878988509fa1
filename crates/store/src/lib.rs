//! A project on disk: open, save, journal, lock, recover.

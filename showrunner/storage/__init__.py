"""The book on disk: one file, written whole, with its backups, lock, undo steps and migrations."""

"""The files of a study: project file, recordings, ledger, lock. All disk work passes through disk.py."""

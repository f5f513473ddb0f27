"""Adding recordings: files, what their columns hold, what they are."""

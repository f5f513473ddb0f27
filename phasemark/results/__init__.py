"""From recordings, settings and marks to values, summaries and the texts of exports. No files, no Qt."""

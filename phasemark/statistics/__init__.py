"""Statistics over participants: pure functions from arrays of numbers to frozen results. No files, no Qt."""

"""From a movement trace (or bursts of EMG) to marks: repetitions, phases, thirds, doubt."""

"""The one live object behind a window or a command: the open study, its history, jobs and saving. No Qt."""

"""What a study is made of, as frozen values, and the edits that make new ones. No Qt, no files."""

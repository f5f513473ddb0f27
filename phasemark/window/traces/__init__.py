"""The traces of one trial on one time axis: a picture goes in, gestures come out."""

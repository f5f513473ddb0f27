"""What filters do: a picture of their magnitude response, and what they took out of the trial in view."""

"""The rep in hand on its height axis, painted from a frozen figure."""

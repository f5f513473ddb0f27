"""Painting the pictures that results describe: onto a widget, and into PDF and PNG."""

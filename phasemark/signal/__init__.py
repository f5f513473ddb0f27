"""From stored values to millivolts, band-passed signals, envelopes and amplitude. numpy and scipy only."""

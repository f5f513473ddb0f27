"""Thresholds of the checks of signal quality; what each check computes stands in signal/quality."""

from dataclasses import dataclass, fields
from math import isfinite

from phasemark.model.errors import BadCall


@dataclass(frozen=True, slots=True)
class QualitySettings:
    """Thresholds, each in the unit that its name ends with; shares are of 1, ratios are times. EMG first.

    lost_ms: a stretch at one value, or missing, for longer than this is a lost signal.
    clipping_run_samples, clipping_share: so many samples in a row at the channel's highest or lowest value are
        a clipped run; more than this share of the samples in such runs is clipping.
    offset_ratio: the mean beside the RMS of the signal without it.
    drift_ratio: how far the mean of one second wanders (highest minus lowest) beside that RMS.
    line_hz, line_share: power-line frequency that is looked for beside 50 and 60 Hz; share of the power (from
        5 Hz on) that stands out at it and its harmonics.
    low_frequency_hz, low_frequency_share: under this frequency lies little of EMG; share of the power there.
    artefact_share, artefact_ratio: a half second is a movement artefact when more than this share of its power is
        under low_frequency_hz, and its amplitude there is more than so many times what is usual in the channel.
    heart_share: share of the power (from 5 Hz on) that is the mean heartbeat.
    signal_to_noise_db: the strongest half seconds over the baseline; less is hardly above the baseline.
    quiet_uv: without a baseline the quietest half second of the trial stands in for it, unless its RMS is over this.
    rate_hz: least sampling rate of EMG.
    bandwidth_share: share of the muscle's power in the highest tenth of what the sampling rate can hold.
    distinct_values: fewer values than this in the whole channel are a coarse resolution.
    rectified_ratio: reach of the values below the median over their reach above it (5th and 95th percentile).
    smoothed_hz: a signal with 95 % of its power below this, half second by half second, is smoothed already.
    alike_share, alike_lag_ms: share of power that two channels have in common, within this lag.

    Movement traces: movement_jump_share: largest step out of line with its neighbours, of the trace's range.
    movement_gap_ms: longest stretch that is missing. movement_rate_hz: least rate of new values.
    """

    lost_ms: float = 50.0
    clipping_run_samples: int = 3
    clipping_share: float = 0.0
    offset_ratio: float = 5.0
    drift_ratio: float = 0.5
    line_hz: float = 50.0
    line_share: float = 0.05
    low_frequency_hz: float = 20.0
    low_frequency_share: float = 0.25
    artefact_share: float = 0.25
    artefact_ratio: float = 6.0
    heart_share: float = 0.01
    signal_to_noise_db: float = 10.0
    quiet_uv: float = 10.0
    rate_hz: float = 1000.0
    bandwidth_share: float = 0.05
    distinct_values: int = 32
    rectified_ratio: float = 0.6
    smoothed_hz: float = 30.0
    alike_share: float = 0.30
    alike_lag_ms: float = 5.0
    movement_jump_share: float = 0.10
    movement_gap_ms: float = 100.0
    movement_rate_hz: float = 40.0

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if not (isfinite(value) and value >= 0):
                raise BadCall(f"quality.{field.name} must be a number from 0 on, not {value}.")
            if field.name.endswith("_share") and value > 1:
                raise BadCall(f"quality.{field.name} is a share from 0 to 1, not {value}.")
        for name in ("line_hz", "low_frequency_hz"):
            if getattr(self, name) == 0:
                raise BadCall(f"quality.{name} must be above zero.")
        if self.clipping_run_samples < 2:
            raise BadCall(f"quality.clipping_run_samples is a number from 2 on, not {self.clipping_run_samples}.")

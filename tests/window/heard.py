"""What a plot told: every gesture in order, for tests of the traces."""

from dataclasses import dataclass, field

from phasemark.window.traces.trial_plot import TrialPlot


@dataclass
class Heard:
    """Every gesture a plot told, in order, each as its name and what came with it."""

    all: list[tuple[object, ...]] = field(default_factory=list)

    def names(self) -> list[object]:
        """The names alone."""
        return [gesture[0] for gesture in self.all]

    def of(self, name: str) -> list[tuple[object, ...]]:
        """What came with each gesture of a name."""
        return [gesture[1:] for gesture in self.all if gesture[0] == name]


def listening(plot: TrialPlot, *names: str) -> Heard:
    """Listen to these signals of a plot from now on."""
    heard = Heard()
    for name in names:
        getattr(plot, name).connect(lambda *parts, name=name: heard.all.append((name, *parts)))
    return heard

"""The way back from worker threads: callables arrive as events and run on the window's thread."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Qt, Signal, Slot


class Bridge(QObject):
    """Runs what other threads deliver, in order, on the thread it lives in.

    A bound method of this object is connected, and queued: a plain callable connected to a signal that a worker
    thread emits would run in the worker thread.
    """

    _arrived = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._open = True
        self._arrived.connect(self._run, Qt.ConnectionType.QueuedConnection)

    def deliver(self, call: Callable[[], None]) -> None:
        """Have a callable run on the window's thread; from any thread."""
        if self._open:
            self._arrived.emit(call)

    def shut(self) -> None:
        """Take nothing more; what is on its way is dropped."""
        self._open = False

    @Slot(object)
    def _run(self, call: Callable[[], None]) -> None:
        if self._open:
            call()

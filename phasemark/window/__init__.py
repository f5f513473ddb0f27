"""The screen: PySide6 and pyqtgraph, one module for each part of it. Holds no state of the study."""

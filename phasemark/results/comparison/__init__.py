"""Which condition asks more of which muscle, in which phase and third, over all participants."""

"""The page of the comparison: the plan, then the answer of the whole study, and what it rests on."""

"""Pictures described as frozen values, without Qt, and set out on a page in millimetres."""

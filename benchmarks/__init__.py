"""Problems with a known answer: each row with its source and a tolerance with its reason, which says so where it was set after trial runs."""

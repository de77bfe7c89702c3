"""Problems with a known answer: one file a subject, each row with its source and a tolerance that was set before the run."""

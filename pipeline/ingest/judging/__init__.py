"""Rows of text are judged: what each cell comes to, which rows are set aside and why."""

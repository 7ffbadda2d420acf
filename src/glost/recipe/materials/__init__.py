"""The materials: what each is called, what it is, what is known of its hazards, and from where."""

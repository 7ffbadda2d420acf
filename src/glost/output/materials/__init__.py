"""Materials looked up: searched, compared, and told to a person or a program. Pure: no file is touched."""

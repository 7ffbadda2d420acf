"""One format a module; a module with a ``FORMAT`` is known to ``glost.convert.format`` by being here."""

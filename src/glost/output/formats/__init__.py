"""One format a module; a module with a ``FORMAT`` is known to ``glost.output.format`` by being here."""

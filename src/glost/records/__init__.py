"""The batch log: what was weighed, by whom, out of which lots; as data, as text, and summed up."""

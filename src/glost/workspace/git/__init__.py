"""What git is asked: what a revision holds, what has changed since, who touched a file last."""

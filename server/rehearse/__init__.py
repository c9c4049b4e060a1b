"""A job rehearsed: virtual crews walk it in yards that only they can see, and what came of it is counted."""

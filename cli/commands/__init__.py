"""One module a command: ``describe`` adds its words and options, ``run`` does it."""

"""The forms of tolerance, a module each: one that is put here is known to options, lists, messages and help."""

"""The kinds of bracket, a module each: one that is put here is known to the shop file and to the judge."""

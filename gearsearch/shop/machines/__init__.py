"""The kinds of machine, a module each: one that is put here is known to the shop file and to every command."""

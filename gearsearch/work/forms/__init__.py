"""The forms of wanted lead, a module each: one that is put here is known to options, lists, messages and the page."""

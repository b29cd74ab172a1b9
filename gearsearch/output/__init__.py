"""How answers are written down: for people, for programs, on paper."""

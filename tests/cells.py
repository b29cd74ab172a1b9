"""Answers as tests read them: the table for people by its headings, the notes by their codes."""


def cells(answer):
    """Each row of an answer's table as a dict of the cells that say something."""
    table = answer.table()
    names = [heading.short for heading in table.headings]
    return [{name: cell for name, cell in zip(names, row, strict=True) if cell} for row in table.rows]


def codes(answer):
    """The codes of an answer's notes, in order."""
    return [note.code for note in answer.notes]


def texts(answer):
    """What the notes of an answer say, in order."""
    return tuple(note.text for note in answer.notes)


def said(answer, code):
    """What the note of a code says."""
    (text,) = [note.text for note in answer.notes if note.code == code]
    return text

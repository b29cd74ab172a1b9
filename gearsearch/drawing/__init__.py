"""Pictures and printed pages; with the optional extra ``draw`` (matplotlib)."""

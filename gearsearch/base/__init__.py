"""What every room needs: exact units, checks of values, errors, files, long work, compiled loops."""

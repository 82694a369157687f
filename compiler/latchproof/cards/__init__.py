"""What to do at the field: cards for before the flight, failsafe and range check, first flight, safety officer, and
for when a check has to be done again."""

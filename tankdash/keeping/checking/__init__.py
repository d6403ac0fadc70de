"""What the dips say against what was expected: balance, findings, survey, runoff learnt."""

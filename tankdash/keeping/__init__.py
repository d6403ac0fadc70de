"""The journal understood: state by replay, rain events, chores due, balance, survey."""

"""The round on a phone: pages over the same jobs, wording and commands."""

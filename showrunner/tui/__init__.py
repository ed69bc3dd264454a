"""The screens: Register, Ledger and Run-out. They show what the session holds and ask it for every change."""

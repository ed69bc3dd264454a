"""The screens. They show what the session holds and ask it for every change."""

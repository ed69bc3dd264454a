"""Makes the helper modules beside it importable from every folder of tests."""

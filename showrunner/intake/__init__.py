"""What is brought in from files: read, compared with the book, and reported before anything is written."""

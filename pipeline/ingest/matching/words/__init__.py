"""What the words and marks of headings and cells mean."""

"""The second reader: a small learned model beside the vocabulary's patterns."""

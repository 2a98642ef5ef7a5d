-- Where the recording lay when it was added, so that the desk can play it.
ALTER TABLE recording ADD COLUMN path TEXT;

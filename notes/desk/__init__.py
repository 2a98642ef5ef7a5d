"""The review desk: pages in the browser, on this machine alone."""

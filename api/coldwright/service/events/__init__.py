"""What happened: a feed to poll, and webhooks that are called."""

"""One module a command; nothing else imports them."""

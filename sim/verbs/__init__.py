"""What a user asks: one folder for each verb that is more than one operating point."""

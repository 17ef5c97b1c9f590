"""The review desk: putting the day right, seated, with keyboard and mouse."""

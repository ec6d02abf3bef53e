"""How far boost, spark and mixture can go, and which limit binds first."""

"""The physics: numbers in, numbers out. No files, no words, no units library, no cycle loop."""

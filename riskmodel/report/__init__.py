"""Reports: frames in, something a person looks at out."""

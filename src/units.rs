//! Values, their notation (IEC 60062), decibels.

//! A value that is put in its place later.

/// Nothing until it is put there, as an `Option` is. But nothing is all zero bytes here, whatever
/// `T` is made of, where an `Option` may mark it by a number that `T` has no use for. So what is
/// large and holds this can stand in memory that is cleared at the start, and takes no room in a
/// board's flash.
#[derive(Clone, Debug, Default)]
#[repr(u8)]
pub(crate) enum ZeroedOption<T> {
    #[default]
    Nothing = 0,
    There(T) = 1,
}

impl<T> ZeroedOption<T> {
    /// Puts the value there.
    pub(crate) fn put(&mut self, value: T) {
        *self = Self::There(value);
    }

    /// Takes it away.
    pub(crate) fn clear(&mut self) {
        *self = Self::Nothing;
    }

    /// The value, if it is there.
    pub(crate) const fn get(&self) -> Option<&T> {
        match self {
            Self::Nothing => None,
            Self::There(value) => Some(value),
        }
    }

    /// The value, or what stands for it.
    pub(crate) const fn or<'a>(&'a self, other: &'a T) -> &'a T {
        match self {
            Self::Nothing => other,
            Self::There(value) => value,
        }
    }
    /// The value, put there now if it is not.
    pub(crate) fn or_put(&mut self, other: impl FnOnce() -> T) -> Option<&mut T> {
        if let Self::Nothing = self {
            self.put(other());
        }
        match self {
            Self::Nothing => None,
            Self::There(value) => Some(value),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_there_until_it_is_put_there() {
        let mut later = ZeroedOption::Nothing;
        assert_eq!((later.get(), later.or(&7)), (None, &7));
        assert_eq!(later.or_put(|| 5), Some(&mut 5));
        assert_eq!(later.or_put(|| 6), Some(&mut 5));
        assert_eq!((later.get(), later.or(&7)), (Some(&5), &5));
        later.clear();
        assert_eq!(later.get(), None);
    }
}

//! What follows each other without a gap.

/// Items in a row that are there, each with its place; `begins` says where a stretch ends
/// although nothing is missing.
pub(super) fn stretches<T>(
    items: impl IntoIterator<Item = Option<T>>,
    begins: impl Fn(usize) -> bool,
) -> Vec<Vec<(usize, T)>> {
    let mut stretches: Vec<Vec<(usize, T)>> = vec![Vec::new()];
    for (i, item) in items.into_iter().enumerate() {
        if item.is_none() || begins(i) {
            stretches.push(Vec::new());
        }
        if let (Some(item), Some(stretch)) = (item, stretches.last_mut()) {
            stretch.push((i, item));
        }
    }
    stretches.retain(|stretch| !stretch.is_empty());
    stretches
}

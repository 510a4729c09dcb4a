//! Many short lists of sites in one block of memory.

/// Lists of sites, numbered from 0.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct SiteLists {
    sites: Vec<u32>,
    /// `ends[i]`: where list `i` ends in `sites`.
    ends: Vec<usize>,
}

impl SiteLists {
    /// No lists yet; room for `n_lists` with `n_sites` sites in all.
    pub(crate) fn with_capacity(n_lists: usize, n_sites: usize) -> Self {
        SiteLists { sites: Vec::with_capacity(n_sites), ends: Vec::with_capacity(n_lists) }
    }

    /// Adds a list.
    pub(crate) fn push(&mut self, list: impl IntoIterator<Item = u32>) {
        self.sites.extend(list);
        self.ends.push(self.sites.len());
    }

    /// How many lists.
    pub(crate) fn len(&self) -> usize {
        self.ends.len()
    }

    /// One list.
    pub(crate) fn get(&self, list: usize) -> &[u32] {
        let start = if list == 0 { 0 } else { self.ends[list - 1] };
        &self.sites[start..self.ends[list]]
    }

    /// All lists in order.
    pub(crate) fn iter(&self) -> impl ExactSizeIterator<Item = &[u32]> {
        (0..self.len()).map(|list| self.get(list))
    }

    /// The same lists in ascending order.
    pub(crate) fn sorted(&self) -> Self {
        // Most lists differ in their first two sites; those are compared without looking the lists up.
        let key = |list: usize| u64::from(self.get(list)[0]) << 32 | u64::from(self.get(list)[1]);
        let mut order: Vec<(u64, usize)> = (0..self.len()).map(|list| (key(list), list)).collect();
        order.sort_unstable_by(|a, b| a.0.cmp(&b.0).then_with(|| self.get(a.1).cmp(self.get(b.1))));
        let mut sorted = SiteLists::with_capacity(self.len(), self.sites.len());
        order.into_iter().for_each(|(_, list)| sorted.push(self.get(list).iter().copied()));
        sorted
    }

    /// For each site the sites it shares a list with: ascending, each once, without itself.
    pub(crate) fn sharing(&self, n_sites: usize) -> Self {
        // Where each site's entries start, then filled, then sorted and thinned.
        let mut next = vec![0usize; n_sites + 1];
        for list in self.iter() {
            list.iter().for_each(|&site| next[site as usize + 1] += list.len() - 1);
        }
        for site in 0..n_sites {
            next[site + 1] += next[site];
        }
        let starts = next.clone();
        let mut entries = vec![0; starts[n_sites]];
        for list in self.iter() {
            for &site in list {
                for &other in list.iter().filter(|&&other| other != site) {
                    entries[next[site as usize]] = other;
                    next[site as usize] += 1;
                }
            }
        }
        let mut sharing = SiteLists::with_capacity(n_sites, entries.len());
        for site in 0..n_sites {
            let of_site = &mut entries[starts[site]..starts[site + 1]];
            of_site.sort_unstable();
            let repeats = |i: usize| i > 0 && of_site[i] == of_site[i - 1];
            sharing.push((0..of_site.len()).filter(|&i| !repeats(i)).map(|i| of_site[i]));
        }
        sharing
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_are_sorted_and_turned_round() {
        let mut lists = SiteLists::default();
        lists.push([1, 3, 2]);
        lists.push([0, 1, 3]);
        let sorted = lists.sorted();
        assert_eq!(sorted.iter().collect::<Vec<_>>(), [&[0, 1, 3], &[1, 3, 2]]);
        let sharing = lists.sharing(5);
        assert_eq!(sharing.iter().collect::<Vec<_>>(), [&[1, 3][..], &[0, 2, 3], &[1, 3], &[0, 1, 2], &[]]);
    }
}

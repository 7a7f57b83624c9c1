export async function reads() {}
